"""What is asked of an entry before it is kept: figures that can hardly be, and none of those that can."""

import math
import uuid
from datetime import UTC, datetime

import pytest

from plan_yards import CATALOGUE, EXAMPLES, planned, small_yard
from rillwright.exchange import load_yard
from rillwright.jobs.asked import Known, questions_on
from rillwright.jobs.asked.water import most_flow
from rillwright.model.field_log import Entry
from rillwright.physics.units import GPM, PSI

DEMO = load_yard(EXAMPLES / "demo.yard.json")


@pytest.fixture(scope="module")
def plan():
    return planned(small_yard())


def entry(what, **more):
    return Entry.model_validate({"id": str(uuid.uuid4()), "made": "2031-05-04T09:00:00Z", "what": what} | more)


def supply(kind, **given):
    return {"kind": "supply test", "measurement": {"kind": kind} | given}


def asked(what, *, yard=DEMO, plan=None, **more):
    known = Known(CATALOGUE, yard if plan is None else plan.yard, plan)
    return [question.rule for question in questions_on(entry(what, **more), known)]


def test_eighty_gallons_from_a_three_quarter_inch_pipe_are_asked_about():
    fill = supply("bucket fill", volume="5 gal", seconds=[3.75, 3.75, 3.8])  # 80 gpm
    known = Known(CATALOGUE, DEMO)
    (question, *rest) = questions_on(entry(fill), known)
    assert question.rule == "flow over pipe"
    assert "L/min" in question.figure  # in the yard's units
    assert "3/4 in" in question.why
    assert all(one.rule == "flow over pipe" for one in rest)
    assert asked(fill, confirmed=["flow over pipe"]) == []
    assert asked(supply("bucket fill", volume="5 gal", seconds=[13.7, 13.9, 13.6], start_delay=4)) == []


def test_the_most_that_a_pipe_passes_lies_over_hazen_williams_with_an_open_end():
    """Against Hazen-Williams, C = 150 (new smooth pipe, handbook value from memory) and one velocity head."""
    bore, static = 0.0199, 57 * PSI  # 3/4 in copper type L, 0.785 in, from ASTM B88 (from memory)
    most = most_flow(DEMO, bore=bore, static=static)
    length, head = DEMO.water_entry.pipe.length, static / 9790

    def short(flow):
        friction = 10.6668 * length * (flow / 150) ** 1.852 / bore**4.871
        return friction + (flow / (math.pi / 4 * bore**2)) ** 2 / (2 * 9.80665) - head

    assert short(most) == pytest.approx(0, abs=0.06 * head)  # the two friction laws differ by a few per cent
    assert 15 * GPM < most < 40 * GPM


@pytest.mark.parametrize(
    ("what", "rule"),
    [
        (supply("static gauge", pressure="160 psi"), "pressure of a main"),
        (supply("static gauge", pressure="295 kPa", height=1.2), "static pressure apart"),
        (supply("bucket fill", volume="20 L", seconds=[24.2, 42.4, 24.4]), "fills apart"),
        (supply("bucket fill", volume="20 L", seconds=[24.2], start_delay=30), "no time to fill"),
        (supply("bucket fill", volume="20 L", seconds=[24.2], start_delay=16), "long start"),
        (supply("gauge at a flow", pressure="90 psi", flow="5 gpm"), "pressure over static"),
        ({"kind": "meter pair", "before": 0, "after": 1, "seconds": 60}, "meter at rest"),
        ({"kind": "valve setting", "zone": "Z1", "turns": 45, "flow": "5 gpm"}, "turns of a stem"),
        (
            {
                "kind": "leak watch",
                "closed_in": ["main"],
                "readings": [{"after": 60 * k, "pressure": 3e5 + 1e5 * k} for k in (0, 1)],
            },
            "pressure rose",
        ),
        (
            {
                "kind": "leak watch",
                "closed_in": ["main"],
                "readings": [{"after": 60 * k, "pressure": 3e5, "water": f"{15 + 12 * k} °C"} for k in (0, 1)],
            },
            "water temperature",
        ),
        ({"kind": "spot height", "place": [5, 5], "height": 80}, "height of the ground"),
        ({"kind": "spot height", "place": [500, 5], "height": 1}, "far off"),
        (
            {
                "kind": "soil intake",
                "ring": "150 mm",
                "readings": [{"after": k, "soaked": 0.02 * k} for k in (0, 1, 2)],
            },
            "intake of a soil",
        ),
        ({"kind": "catch cups", "zone": "Z1", "ran": "9 h", "cups": [{"at": [12, 10], "depth": "10 mm"}]}, "long run"),
        (
            {"kind": "catch cups", "zone": "Z1", "ran": 900, "cups": [{"at": [400, 10], "depth": "10 mm"}]},
            "cups off the lawn",
        ),
        (
            {
                "kind": "catch cups",
                "zone": "Z1",
                "ran": 900,
                "depth_error": "1 cm",
                "cups": [{"at": [12, 10], "depth": "10 mm"}],
            },
            "error of cups",
        ),
    ],
)
def test_what_can_hardly_be_is_asked(what, rule):
    assert rule in asked(what)
    assert rule not in asked(what, confirmed=[rule])


@pytest.mark.parametrize(
    "what",
    [
        {"kind": "note"},
        supply("static gauge", pressure="57 psi", height=1.2),
        supply("bucket fill", volume="20 L", seconds=[18.2, 18.6, 18.3], start_delay=1.2, outlet_height=1.6),
        {"kind": "meter pair", "before": 0, "after": "0.5 L", "seconds": 3600},
        {"kind": "spot height", "place": [5, 5], "height": 0.6},
        {
            "kind": "leak watch",
            "closed_in": ["main"],
            "readings": [{"after": 600 * k, "pressure": 4e5 - 5e3 * k} for k in (0, 1)],
        },
        {
            "kind": "soil intake",
            "ring": "150 mm",
            "readings": [{"after": 600 * k, "soaked": 0.01 * k} for k in (1, 2, 3)],
        },
    ],
)
def test_what_can_be_is_not_asked(what):
    assert asked(what) == []


def test_names_flows_and_prices_are_held_against_the_plan(plan):
    zone, line = plan.zones[0], plan.parts[0]
    pipe = plan.pipes[0]
    measure = {"pieces": 1} if line.unit == "piece" else {"length": 1.0}
    cases = {
        "no zone": {"kind": "zone flow", "zone": "Z77", "volume": 0.1, "seconds": 60},
        "no head": {"kind": "head look", "head": "H77", "seen": "clogged"},
        "no pipe": {"kind": "pipe buried", "pipe": "P777", "depth": 0.3},
        "no trench": {"kind": "trench", "trenches": ["T777"], "state": "open"},
        "no part": {"kind": "parts bought", "parts": [{"part": "left-handed wrench", "pieces": 1, "price": 1}]},
        "no place of a gauge": {"kind": "zone start", "zone": zone.id, "pressures": [{"at": "attic", "pressure": 2e5}]},
        "flow of a zone": {"kind": "zone flow", "zone": zone.id, "volume": 6 * 3 * zone.flow, "seconds": 6},
        "little cover": {"kind": "pipe buried", "pipe": pipe.id, "depth": 0.02},
        "another line": {"kind": "pipe buried", "pipe": pipe.id, "depth": 0.3, "line": [[40, 40], [50, 50]]},
        "price": {"kind": "parts bought", "parts": [{"part": line.part, "price": 30 * line.price} | measure]},
        "rate of cups": {"kind": "catch cups", "zone": zone.id, "ran": 60, "cups": [{"at": [2, 2], "depth": "40 mm"}]},
        "pressure over static": {"kind": "head pressure", "head": zone.heads[0], "pressure": 9e5},
    }
    for rule, what in cases.items():
        assert rule in asked(what, plan=plan), rule
    named = {"kind": "zone flow", "zone": "Z77", "volume": 0.1, "seconds": 60}
    assert zone.id in questions_on(entry(named), Known(CATALOGUE, plan.yard, plan))[0].why
    good = {"kind": "zone flow", "zone": zone.id, "volume": 60 * zone.flow, "seconds": 60}
    assert asked(good, plan=plan) == []


def written(what, **more):
    return entry(what, made="2031-05-03T09:00:00Z", **more)


@pytest.mark.parametrize(
    ("before", "what", "rule"),
    [
        (supply("bucket fill", volume="20 L", seconds=[16]), supply("meter reading", volume=20e-3, seconds=40),
         "open flow apart"),
        (supply("gauge at a flow", pressure="290 kPa", flow="15 L/min"),
         supply("gauge at a flow", pressure="385 kPa", flow="30 L/min"), "pressure against flow"),
        ({"kind": "meter pair", "before": 4120.3, "after": 4120.4, "seconds": 600, "running": "Z1"},
         {"kind": "meter pair", "before": 4102.5, "after": 4102.6, "seconds": 600, "running": "Z1"}, "meter register"),
        ({"kind": "money paid", "of": "permit", "amount": 40}, {"kind": "money paid", "of": "permit", "amount": 40},
         "same again"),
        ({"kind": "parts bought", "parts": [{"part": "tape", "pieces": 2, "price": 1}]},
         {"kind": "parts returned", "parts": [{"part": "tape", "pieces": 3, "price": 1}]}, "more back than bought"),
    ],
)  # fmt: skip
def test_what_the_log_says_otherwise_is_asked_and_its_own_correction_is_not(before, what, rule):
    first = written(before)
    yard = DEMO.model_copy(update={"supply": [one for one in DEMO.supply if one.kind == "static gauge"]})
    known = Known(CATALOGUE, yard, log=[first])
    assert rule in [q.rule for q in questions_on(entry(what), known)]
    right = entry(what, corrects=str(first.id), when=str(first.made))
    assert rule == "more back than bought" or rule not in [q.rule for q in questions_on(right, known)]
    assert rule == "more back than bought" or rule not in asked(what, yard=yard)


@pytest.mark.parametrize(
    ("what", "rule"),
    [
        ({"kind": "part fitted", "part": "valve", "name": "Z99", "place": [1, 1]}, "no zone of a valve"),
        ({"kind": "part fitted", "part": "splice", "name": "V77", "place": [1, 1]}, "no thing"),
        ({"kind": "part fitted", "part": "splice", "name": "V1", "place": [900, 1]}, "far off"),
        ({"kind": "part fitted", "part": "splice", "name": "V1", "place": [1, 1], "depth": 2.0}, "great depth"),
        ({"kind": "pipe buried", "pipe": "M1", "depth": 3.5}, "great depth"),
        ({"kind": "repair", "done": "head replaced", "of": "H999"}, "no thing"),
        ({"kind": "repair", "done": "head replaced", "of": "H1", "cost": 99_000}, "great sum"),
        ({"kind": "money paid", "of": "permit", "amount": 99_000}, "great sum"),
        ({"kind": "tick", "item": "nonsense"}, "no item"),
        ({"kind": "head pressure", "head": "H1", "pressure": "27 kPa"}, "low pressure"),
    ],
)
def test_names_places_and_sums_that_the_plan_hardly_has_are_asked(plan, what, rule):
    assert rule in asked(what, plan=plan)
    assert rule not in asked(what, plan=plan, confirmed=[rule])


def test_far_more_parts_than_the_plan_needs_are_asked(plan):
    head = next(line for line in plan.parts if line.part.startswith("head"))
    bought = {"kind": "parts bought", "parts": [{"part": head.part, "pieces": 300, "price": head.price}]}
    assert asked(bought, plan=plan) == ["many parts"]


def test_days_that_a_person_typed_are_asked_but_not_those_of_a_devices_clock():
    now = datetime(2031, 5, 1, tzinfo=UTC)
    device = Known(CATALOGUE, now=now, typed=False)
    assert questions_on(entry({"kind": "note"}), device) == ()
    said = entry({"kind": "note"}, when="2031-06-01T09:00:00Z")
    used = entry({"kind": "water used", "volume": 40, "since": "2031-04-01", "until": "2031-10-01"})
    assert [[q.rule for q in questions_on(one, device)] for one in (said, used)] == [["day to come"]] * 2


def test_a_reading_is_held_against_those_of_the_log_too():
    weak = entry(supply("static gauge", pressure="295 kPa", height=1.2))
    assert [q.rule for q in questions_on(weak, Known(CATALOGUE, DEMO))] == ["static pressure apart"]
    again = Known(CATALOGUE, DEMO, log=[entry(supply("static gauge", pressure="300 kPa", height=1.2))])
    assert questions_on(weak, again) == ()


def test_a_day_to_come_is_asked_and_a_withdrawal_never():
    now = datetime(2031, 5, 1, tzinfo=UTC)
    late = entry({"kind": "note"})
    assert [q.rule for q in questions_on(late, Known(CATALOGUE, now=now))] == ["day to come"]
    gone = late.model_copy(update={"withdraws": True, "corrects": uuid.uuid4()})
    assert questions_on(gone, Known(CATALOGUE, now=now)) == ()


def test_without_a_yard_nothing_is_asked_that_rests_on_it():
    assert asked(supply("bucket fill", volume="5 gal", seconds=[3.75]), yard=None) == []
