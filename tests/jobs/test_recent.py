"""The season so far: by this year's weather, what the next night needs."""

from datetime import date

import numpy as np
import pytest

from plan_yards import CATALOGUE
from rillwright.errors import InputError
from rillwright.exchange.weather import load_weather
from rillwright.jobs.watering.ground import watered_ground
from rillwright.jobs.watering.recent import season_so_far
from rillwright.report.workings.watering import water_workings
from rillwright.report.workings.watering_asked import so_far_workings
from watered_plans import TERMS, small_plan, watered


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return watered(tmp_path_factory.mktemp("seattle"))


def weather(tmp_path, *, rain, first="2027-02-25", last="2027-07-20"):
    """Invented: 24 and 12 °C, 20 mm of rain every fifth day but in the last ten; rain [mm] on each of the last four."""
    days = np.arange(first, np.datetime64(last) + 1, dtype="datetime64[D]")
    left = len(days) - np.arange(len(days))
    wet = np.where(left <= 4, rain, np.where((left > 10) & (left % 5 == 0), 20, 0))
    lines = [f"{day},24,12,{depth}" for day, depth in zip(days, wet, strict=True)]
    path = tmp_path / "this-year.csv"
    path.write_text("\n".join(["date,tmax_c,tmin_c,rain_mm", *lines]))
    return load_weather(path)


def test_after_rain_the_next_night_needs_less_than_after_a_dry_spell(made, tmp_path):
    dry = season_so_far(small_plan(), made, weather(tmp_path, rain=0), CATALOGUE, TERMS)
    wet = season_so_far(small_plan(), made, weather(tmp_path, rain=20), CATALOGUE, TERMS)
    assert dry.day == wet.day == date(2027, 7, 20)
    assert dry.night is not None
    assert str(dry.night) in made.months[4].dates
    assert wet.lacking < dry.lacking
    assert wet.percent < dry.percent
    assert wet.lacking < 0.006  # four days of 20 mm leave the soil full at the end but for a day's use


def test_what_the_next_night_needs_keeps_the_ground_till_the_night_after(made, tmp_path):
    """Worked apart on the one point that binds: after just that, it is at its limit on the eve of the night after."""
    told = season_so_far(small_plan(), made, weather(tmp_path, rain=0), CATALOGUE, TERMS)
    july = made.months[4]
    nights = [date.fromisoformat(day) for day in july.dates if day > "2027-07-20"]
    usual = july.need / 31
    points = watered_ground(small_plan(), CATALOGUE).kept(made.zones[0].kept)
    assert len(points) == 1
    put_on = told.percent / 100 * july.seconds["Z1"] * points.rate[0, 0]
    limit = made.soil.available * min(max(0.40 + 40 * (5e-3 - usual), 0.1), 0.8)
    assert told.percent > 0
    assert told.lacking + ((nights[1] - told.day).days - 1) * usual - put_on == pytest.approx(limit)


def test_ground_whose_zone_has_no_minutes_is_told_by_itself(made, tmp_path):
    """No share of nothing helps: the zone is run once, till the ground stands at its limit on the eve of the night."""
    months = [one.model_copy(update={"seconds": {"Z1": 0.0}}) if one.month == 7 else one for one in made.months]
    idle = made.model_copy(update={"months": tuple(months)})
    told = season_so_far(small_plan(), idle, weather(tmp_path, rain=0), CATALOGUE, TERMS)
    assert told.percent == 0
    zone, seconds = told.by_hand
    assert zone == "Z1"
    points = watered_ground(small_plan(), CATALOGUE).kept(made.zones[0].kept)
    nights = [date.fromisoformat(day) for day in made.months[4].dates if day > "2027-07-20"]
    usual = made.months[4].need / 31
    limit = made.soil.available * min(max(0.40 + 40 * (5e-3 - usual), 0.1), 0.8)
    left = told.lacking + ((nights[1] - told.day).days - 1) * usual - seconds * points.rate[0, 0]
    assert left == pytest.approx(limit)
    over = idle.model_copy(update={"months": tuple(one.model_copy(update={"dates": ()}) for one in months)})
    told = season_so_far(small_plan(), over, weather(tmp_path, rain=0, last="2027-08-20"), CATALOGUE, TERMS)
    assert told.night is None
    assert told.by_hand[1] * points.rate[0, 0] == pytest.approx(told.lacking - told.limit)
    fed = season_so_far(small_plan(), made, weather(tmp_path, rain=0), CATALOGUE, TERMS)
    assert fed.by_hand is None


def test_monthly_normals_are_no_year(made, tmp_path):
    path = tmp_path / "normals.csv"
    path.write_text("\n".join(["month,tmax_c,tmin_c,rain_mm", *(f"{m},20,10,50" for m in range(1, 13))]))
    with pytest.raises(InputError, match="monthly normals"):
        season_so_far(small_plan(), made, load_weather(path), CATALOGUE, TERMS)


def test_weather_of_another_year_is_refused(made, tmp_path):
    other = weather(tmp_path, rain=0, first="2026-02-25", last="2026-07-20")
    with pytest.raises(InputError, match="does not hold 2027-03-01"):
        season_so_far(small_plan(), made, other, CATALOGUE, TERMS)


def test_every_number_of_it_has_a_working(made, tmp_path):
    """Each again from its formula where it can be, and each link leads to a number that is there."""
    told = season_so_far(small_plan(), made, weather(tmp_path, rain=0), CATALOGUE, TERMS)
    found = {w.key: w for w in (*water_workings(made), *so_far_workings(told, made))}
    for name in ("lacking", "limit", "need", "usual"):
        assert found[f"so-far.{name}"].value == getattr(told, name)
    assert found["so-far.share"].again == pytest.approx(told.percent / 100)
    for working in found.values():
        assert {given.key for given in working.inputs if given.key.startswith(("so-far", "water"))} <= set(found)
