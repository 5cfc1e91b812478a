"""A plan's watering programme: its figures hang together, its clock keeps the rules, its calendar can be read again."""

import csv
import io
import itertools
from dataclasses import replace
from datetime import date, datetime, time, timedelta

import icalendar
import numpy as np
import pypdf
import pytest
from pydantic import ValidationError
from shapely import box

from plan_yards import CATALOGUE
from rillwright.errors import InputError
from rillwright.exchange.weather import load_weather
from rillwright.jobs.watering import WaterTerms, make_water_plan, weather_of_yard
from rillwright.jobs.watering.clock import hours_of_night, night_spans
from rillwright.jobs.watering.files import WATER_FILES, water_files
from rillwright.jobs.watering.ground import needs_at
from rillwright.jobs.watering.nights import patterns
from rillwright.jobs.watering.seasons import seasons_of, turf_soil
from rillwright.model.growing import Climate, ClimateMonth, Controller, Soil, SoilLayer, Span, Watering
from rillwright.model.watering import ClockChange, WaterPlan
from rillwright.model.weather import DailyWeather, Place
from rillwright.report.water import water_calendar
from rillwright.report.workings.watering import water_workings
from watered_plans import TERMS, small_plan, watered, with_facts

TODAY = date(2027, 3, 1)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return watered(tmp_path_factory.mktemp("seattle"))


def test_the_programme_keeps_the_ground_and_uses_less_than_the_raised_multiplier(made):
    by = {method.name: method for method in made.methods}
    assert made.status == "optimal"
    assert by["programme"].over_days == 0
    assert by["multiplier raised"].over_days == 0
    assert by["weather-led raised"].over_days == 0
    assert by["with foresight"].water < by["weather-led raised"].water
    assert by["with foresight"].water < by["programme"].water < by["multiplier raised"].water
    assert made.saved == pytest.approx(by["multiplier raised"].water - by["programme"].water)
    assert by["by the multiplier"].over_days > 0


def test_no_season_of_the_day_by_day_figures_passes_its_limit(made):
    """Told by the balance in layers, which the programme was not solved with."""
    depletion, limit = np.array(made.series.depletion), np.array(made.series.limit)
    assert (depletion <= limit + 1e-5).all()
    assert len(made.series.days) == len(depletion) == 245


def test_months_add_up_to_the_season(made):
    assert sum(month.water for month in made.months) == pytest.approx(made.method("programme").water)
    assert max(month.percent for month in made.months) == pytest.approx(100)
    assert all(seconds % 60 == 0 for month in made.months for seconds in month.seconds.values())


def test_every_working_that_can_be_is_worked_again(made):
    keys = [working.key for working in water_workings(made)]
    assert len(keys) == len(set(keys))
    for working in water_workings(made):
        assert working.inputs
        assert working.source
        if working.again is not None:
            assert working.again == pytest.approx(working.value, rel=1e-9), working.key


def test_the_allowance_is_the_public_formula(made):
    """US EPA, water budget approach: 70 % of the peak month's reference evapotranspiration, from memory."""
    told = made.allowance
    assert told.month == 7
    assert told.allowance == pytest.approx(0.7 * told.reference * told.area)
    assert told.area == pytest.approx(sum(lawn.area for lawn in small_plan().lawns))


def test_it_reads_again_as_it_was_written(made):
    assert WaterPlan.model_validate_json(made.model_dump_json()) == made


def test_heavy_soil_is_watered_in_cycles_within_the_rules(tmp_path):
    """Clay, forbidden hours, odd dates and few starts: nothing is passed."""
    made = watered(
        tmp_path,
        soil=Soil(texture="clay"),
        watering=Watering(
            hours=9 * 3600.0, ends="07:00", dates="odd", forbidden=[Span(begins="01:00", ends="02:30")], share=0.5
        ),
        controller=Controller(stations=6, programs=2, starts=4, longest_run=30 * 60.0),
    )
    for program in made.clock.programs:
        assert len(program.starts) <= 4
        for run in program.stations:
            zone = next(z for z in made.zones if z.id == run.zone)
            longest = max(run.minutes.values())
            assert 60 * longest <= min(zone.longest_run, 30 * 60)
            begins = [datetime.combine(TODAY, time.fromisoformat(s)) for s in program.starts]
            begins = [b + timedelta(days=b.time() < time(12)) for b in begins]
            for one, other in itertools.pairwise(begins):
                rest = (other - one).total_seconds() - 60 * longest
                assert rest >= zone.soak * 60 * longest / zone.longest_run - 1e-6
            for begin in begins:
                end = begin + timedelta(minutes=longest)
                assert datetime.combine(TODAY + timedelta(days=1), time(0)) <= begin  # odd dates alone
                assert end <= datetime.combine(TODAY, time(7)) + timedelta(days=1)
                shut = [datetime.combine(TODAY + timedelta(days=1), time(h, m)) for h, m in ((1, 0), (2, 30))]
                assert end <= shut[0] or begin >= shut[1]
    assert all(int(day[8:]) % 2 == 1 for month in made.months for day in month.dates)


def test_a_clock_that_holds_too_little_says_what_would_do(tmp_path):
    made = watered(tmp_path, watering=Watering(hours=0.25 * 3600), controller=Controller(stations=6))
    assert made.status == "short"
    rules = {finding.rule: finding for finding in made.findings}
    assert rules["limit-passed"].severity == "should"
    made = watered(tmp_path, controller=Controller(stations=6, programs=1, starts=1, longest_run=1200.0))
    finding = next(f for f in made.findings if f.rule == "clock")
    assert finding.severity == "must"
    assert "more start times" in finding.do
    assert b"%PDF" in water_files(made, today=TODAY)["door.pdf"][:8]


def test_a_sand_cap_asks_for_more_nights(made, tmp_path):
    capped = watered(tmp_path, soil=Soil(texture="loam", over_it=[SoilLayer(thickness=0.1, texture="sand")]))
    assert capped.soil.available < made.soil.available
    assert sum(month.planned for month in capped.months) > sum(month.planned for month in made.months)


def test_files_are_of_one_make(made):
    files = water_files(made, today=TODAY)
    assert tuple(files) == WATER_FILES
    assert files == water_files(made, today=TODAY)
    assert len(pypdf.PdfReader(io.BytesIO(files["door.pdf"])).pages) == 1
    text = pypdf.PdfReader(io.BytesIO(files["door.pdf"])).pages[0].extract_text()
    assert made.clock.programs[0].starts[0] in text
    rows = list(csv.DictReader(io.StringIO(files["water.csv"].decode())))
    assert [int(row["month"]) for row in rows] == [month.month for month in made.months]
    assert rows[0]["Z1 station 1 (min a night)"] == f"{made.months[0].seconds['Z1'] / 60:.0f}"
    assert made.months[-1].nights in files["water.html"].decode()


def events(data):
    return {str(event["uid"]): event for event in icalendar.Calendar.from_ical(data).walk("VEVENT")}


def test_a_calendar_read_again_changes_its_events_and_adds_none(made):
    first = events(water_calendar(made, today=TODAY))
    later = made.model_copy(update={"months": made.months[:-1]})
    second = events(water_calendar(later, today=TODAY + timedelta(days=9)))
    assert len(first) == 2 * len(made.months)
    assert set(second) < set(first)
    assert all(int(second[uid]["sequence"]) == int(first[uid]["sequence"]) + 9 for uid in second)


def test_a_month_that_lost_its_nights_is_cancelled_where_the_calendar_is_read_again(made):
    """The last month that waters needs none in the programme made next: its nights and no others are told as gone."""
    first = water_calendar(made, today=TODAY)
    lost = [month.month for month in made.months if month.dates][-1]
    months = [
        month.model_copy(update={"seconds": dict.fromkeys(month.seconds, 0.0), "dates": ()})
        if month.month == lost
        else month
        for month in made.months
    ]
    later = made.model_copy(update={"months": tuple(months)})
    again = water_calendar(later, today=TODAY + timedelta(days=5), earlier=first)
    before, after = events(first), events(again)
    assert set(after) == set(before)
    gone = [event for event in after.values() if event.get("status") == "CANCELLED"]
    assert {event["dtstart"].dt.month for event in gone} == {lost}
    assert len(gone) == len(made.clock.programs)
    assert all(int(e["sequence"]) > int(before[str(e["uid"])]["sequence"]) for e in gone)
    back = events(water_calendar(made, today=TODAY + timedelta(days=9), earlier=again))
    assert not any("status" in event for event in back.values())
    next_year = made.model_copy(update={"year": made.year + 1})
    fresh = water_calendar(next_year, today=TODAY + timedelta(days=400), earlier=first)
    assert b"CANCELLED" not in fresh
    with pytest.raises(InputError, match="no calendar any more"):
        water_calendar(made, today=TODAY, earlier=b"not a calendar")


def test_the_calendar_keeps_the_standard(made):
    """RFC 5545 sections 3.1 and 3.6, from memory: CRLF, at most 75 octets a line, one UID and DTSTAMP each."""
    data = water_calendar(made, today=TODAY)
    lines = data.split(b"\r\n")
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert max(len(line) for line in lines) <= 75
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert data.count(b"UID:") == data.count(b"DTSTAMP:") == data.count(b"BEGIN:VEVENT")


def test_the_calendar_holds_every_night(made):
    nights = set()
    for event in events(water_calendar(made, today=TODAY)).values():
        if str(event["summary"]).startswith("Watering"):
            more = event.get("rdate")
            starts = [event["dtstart"].dt, *([d.dt for d in more.dts] if more else [])]
            nights |= {start.date().isoformat() for start in starts}
    opens_before_midnight = made.clock.programs[0].starts[0] > made.clock.closes
    assert not opens_before_midnight
    assert nights == {day for month in made.months for day in month.dates}


def test_normals_of_the_yard_make_a_programme():
    months = [
        ClimateMonth(tmax=273.15 + 14 + w, tmin=273.15 + 3 + w, rain=0.05, humidity=0.6, wind=2.0, sunshine=7 * 3600)
        for w in 12 * np.sin((np.arange(1, 13) - 4) / 6 * np.pi)
    ]
    yard_plan = with_facts(small_plan(), climate=Climate(months=months, altitude=200.0))
    made = make_water_plan(yard_plan, weather_of_yard(yard_plan.yard), CATALOGUE, WaterTerms(year=2027, latitude=47.6))
    assert made.weather.normals
    assert made.weather.altitude == 200.0
    assert "no band" in next(f for f in made.findings if f.rule == "weather-years").what
    with pytest.raises(InputError, match="climate"):
        weather_of_yard(small_plan().yard)


def test_normals_of_the_south_make_one_season_over_new_year():
    """The same months half a year on, at the same latitude south: one season, and need alike."""
    north = [
        ClimateMonth(tmax=273.15 + t, tmin=261.15 + t, rain=0.04) for t in (0, 2, 8, 14, 20, 25, 28, 27, 22, 15, 8, 2)
    ]
    made = {}
    for latitude, months in ((40.0, north), (-40.0, north[6:] + north[:6])):
        plan = with_facts(small_plan(), climate=Climate(months=months))
        terms = WaterTerms(year=2027, latitude=latitude)
        made[latitude] = make_water_plan(plan, weather_of_yard(plan.yard), CATALOGUE, terms)
    assert [one.month for one in made[40.0].months] == [4, 5, 6, 7, 8, 9, 10]
    assert [one.month for one in made[-40.0].months] == [10, 11, 12, 1, 2, 3, 4]
    assert len(made[-40.0].years) == 1
    need = {latitude: sum(month.need for month in one.months) for latitude, one in made.items()}
    assert need[-40.0] == pytest.approx(need[40.0], rel=0.08)  # the sun is 7 % nearer in January than in July


def test_weather_of_half_a_year_is_refused(tmp_path):
    start = np.datetime64("2024-01-01")
    lines = "\n".join(f"{start + n},{15 + 10 * np.sin(n / 58):.1f},5,0" for n in range(200))
    path = tmp_path / "half.csv"
    path.write_text("date,tmax_c,tmin_c,rain_mm\n" + lines)
    with pytest.raises(InputError, match="holds no whole season"):
        make_water_plan(small_plan(), load_weather(path), CATALOGUE, TERMS)


def test_hours_of_a_night_with_what_is_forbidden_in_them():
    assert night_spans(Watering()) == (0, ((0, 360),))
    spans = [Span(begins="23:30", ends="00:30"), Span(begins="05:00", ends="07:00")]
    long = Watering(hours=8 * 3600.0, forbidden=spans)
    assert night_spans(long) == (1320, ((0, 90), (150, 420)))
    assert hours_of_night(long) == 60 * (90 + 270)


def test_with_a_rule_of_dates_nothing_runs_on_the_date_before():
    """A night from 22:00 that ends on an odd date would begin on an even one."""
    for rule in ({"dates": "odd"}, {"weekdays": ["Mon", "Thu"]}):
        assert night_spans(Watering(hours=8 * 3600.0, **rule)) == (0, ((0, 360),))
        assert night_spans(Watering(hours=3 * 3600.0, ends="23:00", **rule)) == (1200, ((0, 180),))
        with pytest.raises(ValidationError, match="23:59"):
            Watering(ends="00:00", **rule)


def test_a_month_that_needs_no_water_has_no_nights(tmp_path):
    """Cold, wet days from September on, invented: the programme is off, and the calendar says so."""
    days = np.arange("2023-01-01", "2025-01-01", dtype="datetime64[D]")
    month = days.astype("datetime64[M]").astype(int) % 12 + 1
    lines = [
        f"{day},{26 if 5 <= m <= 8 else 14 if m in (4, 9) else 4},{12 if 5 <= m <= 8 else 8 if m in (4, 9) else -4},"
        f"{30 if m in (4, 9) else 0}"
        for day, m in zip(days, month, strict=True)
    ]
    path = tmp_path / "wet.csv"
    path.write_text("\n".join(["date,tmax_c,tmin_c,rain_mm", *lines]))
    made = make_water_plan(small_plan(), load_weather(path), CATALOGUE, TERMS)
    by_month = {one.month: one for one in made.months}
    off = by_month[9]
    assert not any(off.seconds.values())
    assert (off.nights, off.planned, off.run, off.water, off.dates) == ("none", 0.0, 0.0, 0.0, ())
    assert by_month[7].dates
    calendar = water_files(made, today=TODAY)["water.ics"].decode().replace("\r\n ", "")
    assert "Set the controller for September: off" in calendar


@pytest.mark.parametrize(
    ("watering", "words"),
    [
        (Watering(), "every 2 days"),
        (Watering(nights=2), "Mon, Thu"),
        (Watering(weekdays=["Tue", "Sat", "Sun"], nights=2), "Tue, Sat"),
        (Watering(dates="even"), "even dates"),
        (Watering(dates="even", mown=["Sat"]), "even dates on Mon, Tue, Wed, Thu, Fri, Sun"),
        (Watering(mown=["Sat"], nights=3), "Mon, Wed, Fri"),
    ],
)
def test_patterns_of_nights_keep_the_rule(watering, words):
    found = patterns(watering)
    assert words in [pattern.words for pattern in found]
    days = np.arange(np.datetime64("2027-01-01"), np.datetime64("2027-12-31"))
    for pattern in found:
        on = [date.fromisoformat(str(day)) for day in days[pattern.on(days)]]
        assert {day.strftime("%a") for day in on} <= set(watering.wet_days)
        if watering.dates == "even":
            assert all(day.day % 2 == 0 for day in on)
        weeks = np.bincount([(day - date(2027, 1, 4)).days // 7 for day in on if day >= date(2027, 1, 4)])
        assert weeks.max() <= watering.nights


def test_mowing_on_every_day_that_allows_water_is_refused():
    with pytest.raises(ValidationError, match="mow on another"):
        Watering(weekdays=["Sat", "Sun"], mown=["Sat", "Sun"])


def test_a_typical_year_of_the_south_makes_one_season_over_new_year():
    """Days from January to December, as an EPW or TMY3 lays them out, of a place whose winter is in July."""
    days = np.arange("2025-01-01", "2026-01-01", dtype="datetime64[D]")
    warm = 273.15 + 14 + 11 * np.cos(2 * np.pi * np.arange(365) / 365)
    nothing = np.full(365, np.nan)
    one = DailyWeather("typical", Place(-35.0), days, warm + 6, warm - 6, np.zeros(365), *[nothing] * 4)
    yard = small_plan().yard
    with pytest.raises(InputError, match="holds no whole season"):
        seasons_of(one, yard, turf_soil(yard), latitude=None, altitude=0.0)
    year = replace(one, comes_round=True)
    seasons = seasons_of(year, yard, turf_soil(yard), latitude=None, altitude=0.0)
    assert seasons.months == (9, 10, 11, 12, 1, 2, 3, 4)
    assert seasons.years == (2025,)


def test_each_part_of_a_lawn_needs_by_its_own_exposure():
    """Two drawn halves that touch are watered as one lawn: the shaded half needs 0.6."""
    halves = {box(0, 0, 4, 4): 1.0, box(4, 0, 8, 4): 0.6}
    at = np.array([[1.0, 1.0], [3.9, 2.0], [4.1, 2.0], [7.0, 3.0]])
    assert needs_at(at, halves).tolist() == [1.0, 1.0, 0.6, 0.6]


def test_clocks_that_change_are_told_on_the_door_and_in_the_calendar(made):
    turn = made.model_copy(update={"clock_changes": (ClockChange(day=date(2027, 11, 7), minutes=-60),)})
    files = water_files(turn, today=TODAY)
    told = "Clocks go back on 2027-11-07"
    door = " ".join(pypdf.PdfReader(io.BytesIO(files["door.pdf"])).pages[0].extract_text().split())
    assert told in door
    assert told in files["water.html"].decode()
    found = [e for e in icalendar.Calendar.from_ical(files["water.ics"]).walk("VEVENT") if "Clocks" in e["summary"]]
    assert [(e["dtstart"].dt, str(e["summary"])) for e in found] == [
        (date(2027, 11, 7), "Clocks go back by 60 min: set the controller's too")
    ]


def test_weather_of_the_cold_months_alone_asks_for_the_warm_ones(tmp_path):
    days = [f"{day},4,-2,1" for day in np.arange("2027-01-01", "2027-03-01", dtype="datetime64[D]")]
    path = tmp_path / "winter.csv"
    path.write_text("\n".join(["date,tmax_c,tmin_c,rain_mm", *days]), encoding="utf-8")
    with pytest.raises(InputError, match=r"2027-02-28 reaches a mean of 8 °C \(46 °F\): give the warm months too"):
        make_water_plan(small_plan(), load_weather(path), CATALOGUE, TERMS)
