"""Winter of a whole plan: what it says of a small yard, as laid by the log, and on unlike yards."""

import uuid
from datetime import UTC, date, datetime

import numpy as np
import pytest

from plan_yards import CATALOGUE, planned, small_yard
from rillwright.errors import InputError
from rillwright.jobs.winter import Record, WinterTerms, as_laid, make_winter
from rillwright.model.field_log import Entry
from rillwright.model.winter_tables import load_winter
from rillwright.physics.frost import DAY, MELTING
from rillwright.physics.units import PSI
from rillwright.report.winter_card import card_pdf, winter_card
from rillwright.report.workings.winter import winter_workings

TABLES = load_winter()
WORKSHOP = TABLES.compressors["workshop"]


def record(years=12, seed=1):
    """Invented weather: a cosine through the year with days that hang together."""
    dice = np.random.default_rng(seed)
    days = np.arange("2001-01-01", f"{2001 + years}-01-01", dtype="datetime64[D]")
    noise = np.zeros(len(days))
    for n in range(1, len(days)):
        noise[n] = 0.7 * noise[n - 1] + dice.normal(0, 3.0)
    middle = MELTING + 8 - 14 * np.cos(2 * np.pi * ((days - days[0]).astype(float) - 20) / 365.25) + noise
    return Record("invented", days, middle - 5.0, middle + 5.0)


@pytest.fixture(scope="module")
def plan():
    return planned(small_yard())


@pytest.fixture(scope="module")
def made(plan):
    terms = WinterTerms(compressor=WORKSHOP, record=record(), season=2031, tonight=MELTING - 4)
    return make_winter(plan, CATALOGUE, terms)[0]


def test_a_whole_winter(plan, made):
    assert made.climate is not None
    assert len(made.climate.indices) == 11
    assert date(2031, 9, 1) < made.drain_by < date(2031, 12, 1)
    assert date(2032, 3, 1) < made.start_after < date(2032, 6, 15)
    for one in made.dates:
        if one.first_safe is not None:
            assert made.drain_by < one.first_safe
            assert one.first_low <= one.first_safe <= one.first_high
    assert made.tonight is not None
    assert any("Shut the isolating valve" in line for line in made.tonight.do)
    assert {line.line for line in made.drained} == {"main", *(zone.id for zone in plan.zones)} - (
        {"main"} if not any(pipe.role == "main" for pipe in plan.pipes) else set()
    )
    for line in made.frost:
        assert line.usual <= line.design <= line.most


def test_of_a_short_record_no_winter_did_harm_before_the_day_to_drain(plan):
    """Alike winters and hard frost in one August: the normal law alone passes it by."""
    short = record(years=7)
    early = np.flatnonzero(short.days == np.datetime64("2003-08-20"))[0]
    short.low[early - 1 : early + 2] -= 35.0
    made = make_winter(plan, CATALOGUE, WinterTerms(compressor=WORKSHOP, record=short, season=2031))[0]
    bodies = [one for one in made.dates if one.threshold is not None]
    assert all(one.first_earliest < one.first_safe for one in bodies)
    assert all(made.drain_by < one.first_earliest for one in bodies)


def test_a_record_that_freezes_all_year_tells_no_date(plan):
    """The coldest day of the invented record, every day."""
    always = record(years=4)
    always.low[:], always.high[:] = MELTING - 30.0, MELTING - 20.0
    made = make_winter(plan, CATALOGUE, WinterTerms(compressor=WORKSHOP, record=always, season=2031))[0]
    assert made.drain_by is None
    assert made.start_after is None
    assert all(one.midsummer == 3 for one in made.dates)
    assert "no day is safe" in winter_card(made, plan).headline


def test_zones_go_farthest_first_and_lose_no_water(made):
    zones = made.blow_out.zones
    assert [zone.turn for zone in zones] == list(range(1, len(zones) + 1))
    for zone in zones:
        assert zone.pushed + zone.swept + zone.left == pytest.approx(zone.volume)
        assert zone.needs_pressure >= 15 * PSI
        assert zone.needs_air > 0
    ways = [round(zone.way / 3.0) for zone in zones]
    assert ways == sorted(ways, reverse=True)
    assert made.blow_out.regulator <= 50 * PSI  # PE in the laterals: common practice


def test_every_number_works_out_again(plan, made):
    found = list(winter_workings(made, plan))
    assert len({working.key for working in found}) == len(found)
    for working in found:
        assert working.printed(plan)
        if working.again is not None:
            assert working.again == pytest.approx(working.value, rel=1e-6, abs=1e-9), working.key
    keys = {working.key for working in found}
    card = winter_card(made, plan)
    for table in card.tables:
        assert not table.keys or len(table.keys) == len(table.rows)
    wanted = [key for table in card.tables for key in table.keys if key]
    assert set(wanted) <= keys


def test_the_card_prints(plan, made):
    card = winter_card(made, plan)
    assert card.headline.startswith("Drain by")
    assert any("eye protection" in line for part in card.parts for line in part.cautions)
    assert card_pdf(card, plan).startswith(b"%PDF")


def test_deeper_pipe_of_the_log_is_safe(plan):
    terms = WinterTerms(compressor=WORKSHOP, index=300 * DAY, mean=MELTING + 9)
    pipe = plan.pipes[0]
    what = {"kind": "pipe buried", "pipe": pipe.id, "depth": 1.5}
    entry = Entry(id=uuid.uuid4(), made=datetime(2031, 5, 1, tzinfo=UTC), what=what)
    deep = {one.pipe: one for one in make_winter(plan, CATALOGUE, terms, [entry])[0].freezes}
    assert deep[pipe.id].cover == 1.5
    assert deep[pipe.id].logged
    assert not deep[pipe.id].freezes
    shallow = {one.pipe: one for one in make_winter(plan, CATALOGUE, terms)[0].freezes}
    assert shallow[pipe.id].freezes
    laid, covers = as_laid(plan, [entry])
    assert covers == {pipe.id: 1.5}
    assert laid == plan.pipes


def test_a_longer_line_of_the_log_holds_more(plan):
    pipe = max(plan.pipes, key=lambda pipe: pipe.length)
    (x, y), end = pipe.path[0], pipe.path[-1]
    what = {"kind": "pipe buried", "pipe": pipe.id, "depth": 0.3, "line": [(x, y), (x, y + 1.0), (x, y), end]}
    entry = Entry(id=uuid.uuid4(), made=datetime(2031, 5, 1, tzinfo=UTC), what=what)
    laid, _ = as_laid(plan, [entry])
    longer = next(one for one in laid if one.id == pipe.id)
    assert longer.length == pytest.approx(2.0 + np.hypot(end[0] - x, end[1] - y))


def test_without_weather_it_says_what_it_cannot(plan):
    found, _ = make_winter(plan, CATALOGUE, WinterTerms(compressor=WORKSHOP))
    assert found.frost == ()
    assert found.drain_by is None
    assert any("weather record" in line for line in found.says)
    assert "weather record" in winter_card(found, plan).headline


def test_a_typed_index_gives_depth(plan):
    found, _ = make_winter(
        plan, CATALOGUE, WinterTerms(compressor=WORKSHOP, index=900 * DAY, mean=MELTING + 7, snow=0.2)
    )
    by_name = {line.surface: line for line in found.frost}
    assert by_name["snow"].design < by_name["turf"].design < by_name["paving"].design
    assert found.dates == ()


def test_courses_fall_to_what_is_told(plan, made):
    terms = WinterTerms(compressor=WORKSHOP)
    for (_line, blown), zone in zip(make_winter(plan, CATALOGUE, terms)[1], made.blow_out.zones, strict=True):
        left = [sample.left for sample in blown.samples]
        assert left == sorted(left, reverse=True)
        assert left[-1] == pytest.approx(zone.left)


def test_a_plan_without_zones_is_refused(plan):
    bare = plan.model_copy(update={"zones": ()})
    with pytest.raises(InputError, match="no zones"):
        make_winter(bare, CATALOGUE, WinterTerms(compressor=WORKSHOP))
