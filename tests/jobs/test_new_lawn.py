"""A new lawn: when to sow, light and frequent at first, no run over what the moist layer holds or the soil takes."""

import itertools
import math
from dataclasses import replace
from datetime import date, timedelta

import icalendar
import numpy as np
import pytest

from plan_yards import CATALOGUE
from rillwright.errors import InputError
from rillwright.exchange.weather import load_weather
from rillwright.jobs.watering import WaterTerms
from rillwright.jobs.watering.new_lawn import make_new_lawn
from rillwright.model.growing import Soil, Span, Watering
from rillwright.model.weather import DailyWeather, Place
from rillwright.report.water.new_lawn import new_lawn_files
from rillwright.solvers.soil_water import profile_of
from rillwright.solvers.sowing import sowing_days
from watered_plans import TERMS, seattle_file, small_plan, with_facts

C = 273.15
COOL = (C + 10, C + 18)


def steady(frost="10-15", years=5):
    """14 °C all the time but for one night of frost each year: invented."""
    days = np.arange("2001-01-01", f"{2001 + years}-01-01", dtype="datetime64[D]")
    tmin = np.where(np.char.endswith(days.astype(str), frost), C - 5, C + 9)
    unknown = np.full(len(days), np.nan)
    return DailyWeather("test", Place(), days, np.full(len(days), C + 19.0), tmin, unknown * 0, *[unknown] * 4)


def test_seed_needs_weeks_without_frost():
    """Six weeks before 15 October is 3 September; after the frost the year is open again till then."""
    windows = sowing_days(steady(), soil=COOL, weeks=6)
    assert [(w.first, w.last) for w in windows] == [("01-01", "09-03"), ("10-16", "12-31")]


def test_soil_that_is_too_cold_or_too_warm_is_no_bed():
    assert sowing_days(steady(), soil=(C + 20, C + 30), weeks=6) == ()
    assert sowing_days(steady(), soil=(C, C + 5), weeks=6) == ()


def test_a_frost_of_one_year_in_five_is_borne_and_of_two_is_not():
    weather = steady(frost="2001-10-15")
    assert [(w.first, w.last, w.chance) for w in sowing_days(weather, soil=COOL, weeks=6)] == [("01-01", "12-31", 0.8)]


def test_a_leap_day_splits_no_window():
    """29 February of the one leap year of four had frost: its neighbours still make one window."""
    weather = steady(frost="2004-03-20")
    assert [(w.first, w.last) for w in sowing_days(weather, soil=COOL, weeks=6)] == [("01-01", "12-31")]


def test_weather_that_lacks_a_month_is_named(tmp_path):
    days = np.arange("2024-04-01", "2024-09-01", dtype="datetime64[D]")
    path = tmp_path / "summer.csv"
    path.write_text("\n".join(["date,tmax_c,tmin_c,rain_mm", *(f"{day},24,12,0" for day in days)]))
    with pytest.raises(InputError, match="month 9"):
        make_new_lawn(small_plan(), load_weather(path), CATALOGUE, TERMS, kind="seed", start=date(2027, 8, 25))


@pytest.fixture(scope="module")
def weather(tmp_path_factory):
    return load_weather(seattle_file(tmp_path_factory.mktemp("seattle")))


@pytest.mark.parametrize("kind", ["seed", "sod"])
@pytest.mark.parametrize("texture", ["sand", "loam", "clay"])
def test_light_and_frequent_then_fewer_and_longer(weather, kind, texture):
    plan = with_facts(small_plan(), soil=Soil(texture=texture))
    made = make_new_lawn(plan, weather, CATALOGUE, TERMS, kind=kind, start=date(2027, 8, 25))
    assert bool(made.windows) == (kind == "seed")
    assert [stage.first for stage in made.stages[1:]] == [s.last + timedelta(days=1) for s in made.stages[:-1]]
    assert made.stages[0].first == date(2027, 8, 25)
    runs = [stage.runs for stage in made.stages]
    assert runs == sorted(runs, reverse=True)
    assert runs[-1] == 1
    layers = {"seed": (0.015, 0.040, 0.080), "sod": (0.040, 0.080)}[kind]
    for stage, layer in zip(made.stages, layers, strict=True):
        held = profile_of(plan.yard.soil, depth=layer).available(layer)
        assert stage.depth <= held
        assert stage.depth <= stage.wanted + 1e-12 or any("one more run" in note for note in made.notes)
        assert stage.depth * stage.runs <= stage.use + 1e-12
        assert len(stage.starts) == stage.runs


def test_no_run_is_longer_than_water_takes_to_stand(weather):
    """On clay of a steep kind, by a plan whose water falls thick."""
    plan = with_facts(small_plan(), soil=Soil(texture="clay"))
    thick = plan.model_copy(update={"heads": tuple(h.model_copy(update={"flow": 6 * h.flow}) for h in plan.heads)})
    from rillwright.jobs.watering.ground import watered_ground

    zone = watered_ground(thick, CATALOGUE).zones[0]
    made = make_new_lawn(thick, weather, CATALOGUE, TERMS, kind="sod", start=date(2027, 6, 1))
    assert zone.longest_run is not None
    assert all(60 <= stage.seconds["Z1"] <= max(zone.longest_run, 60) for stage in made.stages)


def test_without_a_day_the_best_window_is_taken(weather):
    """Extension advice for cool-season grass where summers are dry: late summer to early autumn (common practice)."""
    made = make_new_lawn(
        small_plan(), weather, CATALOGUE, WaterTerms(year=2027, latitude=47.6), kind="seed", start=None
    )
    assert any(w.first <= f"{made.start:%m-%d}" <= w.last for w in made.windows)
    assert made.events[0].day == made.start - timedelta(days=28)
    late = make_new_lawn(
        small_plan(), weather, CATALOGUE, TERMS, kind="seed", start=None, after=made.start + timedelta(days=1)
    )
    assert late.start == made.start.replace(year=2028)  # not one that is past


def test_the_calendar_can_be_read_again_without_doubling(weather):
    made = make_new_lawn(small_plan(), weather, CATALOGUE, TERMS, kind="seed", start=date(2027, 8, 25))
    moved = make_new_lawn(small_plan(), weather, CATALOGUE, TERMS, kind="seed", start=date(2027, 9, 1))
    uids = [
        {str(e["uid"]) for e in icalendar.Calendar.from_ical(files["new-lawn.ics"]).walk("VEVENT")}
        for files in (new_lawn_files(m, small_plan(), today=date(2027, 3, 1)) for m in (made, moved))
    ]
    assert uids[0] == uids[1]
    assert len(uids[0]) == len(made.events)


def round_of(stage, start):
    """Minutes of the day of a round of all zones."""
    begins = 60 * int(start[:2]) + int(start[3:])
    return begins, begins + math.ceil(sum(stage.seconds.values()) / 60)


def test_no_round_runs_in_a_forbidden_hour(weather):
    """Noon to four and the hours before dawn are forbidden: rounds go round both, and a week of two nights is told."""
    watering = Watering(forbidden=[Span(begins="11:30", ends="16:00"), Span(begins="23:00", ends="05:20")], nights=2)
    plan = with_facts(small_plan(), watering=watering, soil=Soil(texture="sand"))
    made = make_new_lawn(plan, weather, CATALOGUE, TERMS, kind="seed", start=date(2027, 8, 25))
    assert made.stages[0].runs == 4
    for stage in made.stages:
        rounds = [round_of(stage, start) for start in stage.starts]
        assert len(rounds) == stage.runs
        assert all(b <= 690 or a >= 960 for a, b in rounds)
        assert all(after[0] >= before[1] for before, after in itertools.pairwise(rounds))
    last, ends = round_of(made.stages[-1], made.stages[-1].starts[0])
    assert 320 <= last < ends == 360
    assert any("ask for leave before you sow" in note for note in made.notes)


def test_a_day_without_room_says_so(weather):
    plan = with_facts(small_plan(), watering=Watering(forbidden=[Span(begins="07:00", ends="19:00")]))
    made = make_new_lawn(plan, weather, CATALOGUE, TERMS, kind="seed", start=date(2027, 8, 25))
    assert made.stages[0].starts == ()
    assert any("no room for one of" in note for note in made.notes)


def test_a_typical_year_of_the_south_has_one_season_and_windows_that_come_round():
    """The year of `steady` with its frost in July: a TMY3 or an EPW is such a year."""
    year = replace(steady(frost="07-01", years=1), comes_round=True)
    windows = sowing_days(year, soil=COOL, weeks=6)
    assert [(w.first, w.last) for w in windows] == [("01-01", "05-20"), ("07-02", "12-31")]


@pytest.mark.parametrize("day", [date.min, date.max])
def test_a_day_that_no_calendar_reaches_is_refused(weather, day):
    with pytest.raises(InputError, match="2000 to 2200"):
        make_new_lawn(small_plan(), weather, CATALOGUE, TERMS, kind="sod", start=day)
