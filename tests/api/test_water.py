"""The watering programme of a stored plan, over the interface."""

import io

import icalendar
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
