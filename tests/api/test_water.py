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


def dry_days(first, last):
    """Invented days of a dry spring."""
    days = np.arange(first, last, dtype="datetime64[D]")
    return "date,tmax_c,tmin_c,rain_mm\n" + "\n".join(f"{day},26,12,0" for day in days)


@pytest.mark.usefixtures("kept")
def test_where_the_season_stands_by_days_that_are_kept_and_added_to(web):
    """A dry May and June of this year: the next night needs more than none; later days are added, a gap is refused."""
    here, terms = f"{web.yard}/weather/recent", {"year": "2027", "latitude": "47.6"}

    def put(first, last):
        return web.put(here, files={"file": ("station.csv", dry_days(first, last), "text/csv")})

    assert put("2027-03-01", "2027-06-01").json()["last"] == "2027-05-31"
    assert put("2027-06-01", "2027-06-21").json()["first"] == "2027-03-01"
    refused = put("2027-07-01", "2027-07-05")
    assert (refused.status_code, "to 2027-06-20: give the days" in refused.text) == (422, True)
    found = web.post(f"{web.plan}/water", data=terms).json()
    assert found["so_far"]["day"] == "2027-06-20"
    assert found["so_far"]["percent"] > 0
    share = found["workings"]["so-far.share"]
    assert share["again"] == pytest.approx(share["value"]) == found["so_far"]["percent"] / 100
    page = web.post(f"{web.plan}/water/water.html", data=terms).text
    assert "By 2027-06-20 the driest kept ground lacks" in page
    other = web.post(f"{web.plan}/water", data={**terms, "year": "2026"}).json()
    assert other["so_far"] is None
    assert "does not hold 2026-03-01" in other["so_far_missing"]
    assert web.delete(here).status_code == 204
    assert web.get(here).json() is None
    assert web.post(f"{web.plan}/water", data=terms).json()["so_far_missing"] == ""
