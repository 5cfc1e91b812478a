"""The watering programme of a stored plan, over the interface."""

import io
import uuid

import icalendar
import numpy as np
import pypdf
import pytest

from served_plans import served
from watered_plans import seattle_file, small_plan


@pytest.fixture(scope="module")
def web(tmp_path_factory):
    with served(tmp_path_factory.mktemp("data"), small_plan()) as client:
        client.weather = seattle_file(tmp_path_factory.mktemp("weather")).read_bytes()
        yield client


def asked(web, name=""):
    files = {"weather": ("days.csv", web.weather, "text/csv")}
    return web.post(f"{web.plan}/water{name}", data={"year": "2027", "latitude": "47.6"}, files=files)


def test_the_programme_and_its_workings(web):
    answer = asked(web)
    assert answer.status_code == 200, answer.text
    found = answer.json()
    assert found["programme"]["weather"]["years"] == [2012, 2013, 2014, 2015]
    water = next(m["water"] for m in found["programme"]["methods"] if m["name"] == "programme")
    assert found["workings"]["water.season"]["value"] == pytest.approx(water)


def test_its_files(web):
    door, calendar = asked(web, "/door.pdf"), asked(web, "/water.ics")
    assert len(pypdf.PdfReader(io.BytesIO(door.content)).pages) == 1
    assert calendar.headers["content-type"].startswith("text/calendar")
    assert icalendar.Calendar.from_ical(calendar.content).walk("VEVENT")


def test_without_weather_it_says_what_to_do(web):
    answer = web.post(f"{web.plan}/water")
    assert answer.status_code == 422
    assert "climate" in answer.text


@pytest.fixture
def kept(web):
    """The weather kept with the yard, for one test."""
    answer = web.put(f"{web.yard}/weather", files={"file": ("station.csv", web.weather, "text/csv")})
    assert answer.status_code == 200, answer.text
    yield answer.json()
    assert web.delete(f"{web.yard}/weather").status_code == 204
    assert web.get(f"{web.yard}/weather").json() is None


def test_weather_kept_with_the_yard_need_not_be_sent_again(web, kept):
    assert kept == web.get(f"{web.yard}/weather").json()
    assert (kept["name"], kept["first"], kept["last"]) == ("station.csv", "2012-01-01", "2015-12-31")
    refused = web.put(f"{web.yard}/weather", files={"file": ("none.csv", b"date\n", "text/csv")})
    assert refused.status_code == 422
    assert web.get(f"{web.yard}/weather").json()["name"] == "station.csv"
    terms = {"year": "2027", "latitude": "47.6"}
    found = web.post(f"{web.plan}/water/what-if", data=terms).json()
    here, heads = found["changes"][:2]
    assert heads["saved"] == pytest.approx(here["water"] - heads["water"])
    assert found["workings"]["what-if.1.saved"]["again"] == pytest.approx(heads["saved"])
    assert web.put(f"/api/yards/{uuid.uuid4()}/weather", files={"file": ("a.csv", web.weather)}).status_code == 404


@pytest.mark.usefixtures("kept")
def test_a_new_lawn_and_its_calendar(web):
    terms = {"latitude": "47.6", "kind": "seed", "start": "2027-08-25"}
    found = web.post(f"{web.plan}/new-lawn", data=terms).json()
    stages, workings = found["course"]["stages"], found["workings"]
    assert [stage["name"] for stage in stages] == ["until it sprouts", "seedlings", "first mowings"]
    for number, stage in enumerate(stages, start=1):
        for zone, seconds in stage["seconds"].items():
            assert workings[f"new-lawn.{number}.{zone}"]["again"] == pytest.approx(seconds)
        assert workings[f"new-lawn.{number}.depth"]["again"] == pytest.approx(stage["depth"])
    calendar = web.post(f"{web.plan}/new-lawn/new-lawn.ics", data=terms)
    assert len(icalendar.Calendar.from_ical(calendar.content).walk("VEVENT")) == len(found["course"]["events"])


@pytest.mark.usefixtures("kept")
def test_where_the_season_stands(web):
    """A dry May and June of this year, invented: the next night needs more than none."""
    days = np.arange("2027-03-01", "2027-06-21", dtype="datetime64[D]")
    recent = "date,tmax_c,tmin_c,rain_mm\n" + "\n".join(f"{day},26,12,0" for day in days)
    terms = {"year": "2027", "latitude": "47.6"}
    answer = web.post(f"{web.plan}/water/so-far", data=terms, files={"recent": ("this-year.csv", recent, "text/csv")})
    assert answer.status_code == 200, answer.text
    found = answer.json()
    assert found["so_far"]["day"] == "2027-06-20"
    assert found["so_far"]["percent"] > 0
    share = found["workings"]["so-far.share"]
    assert share["again"] == pytest.approx(share["value"]) == found["so_far"]["percent"] / 100
