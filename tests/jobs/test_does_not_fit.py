"""A yard that does not fit says which limit clashes, by how much, and what each way out costs."""

import re

import pytest

from plan_inspector import INSPECTIONS
from plan_yards import CATALOGUE, EXAMPLES, FILES, planned, planned_example, random_yard, rectangle, small_yard
from rillwright.model.plan import Plan
from rillwright.model.site import BACKFLOW_KINDS

HOUSE = {"id": "house", "kind": "building", "outline": rectangle(0, -4, 9, 4)}


def lawn(name, *outline, **more):
    return {"id": name, "kind": "lawn", "outline": rectangle(*outline), **more}


def rising(slope):
    return [{"at": [x, y], "height": slope * max(0, y)} for x in (0, 9) for y in (-4, 0, 7)]


TOO_FEW_STATIONS = small_yard(
    areas=[lawn("sunny", 0, 0, 3, 3.5), lawn("shady", 3, 0, 3, 3.5, exposure="shade"), HOUSE],
    controller={"stations": 1},
)
TOO_WEAK = small_yard(
    supply=[
        {"kind": "static gauge", "pressure": 175, "pressure_error": 4},
        {"kind": "bucket fill", "volume": 10, "seconds": [15, 15.3]},
    ],
    backflow={"allowed": ["pressure vacuum breaker"]},
)
NO_PLACE = small_yard(
    spot_heights=rising(0.2), backflow={"allowed": ["atmospheric vacuum breaker"], "highest_riser": 0.2}
)
NO_CLASS = small_yard(areas=[lawn("lawn", 0, 0, 5, 4), HOUSE], heads={"allowed": ["mid rotor"]})
ONE_LAWN_WITHOUT = small_yard(
    areas=[lawn("lawn", 0, 0, 5, 4), lawn("strip", 5, 0, 1.2, 5, head_classes=["mid rotor"]), HOUSE]
)
SHUT_IN = small_yard(
    areas=[
        lawn("lawn", 0, 0, 5, 4),
        {"id": "fenced", "kind": "keep-out", "outline": rectangle(6, 0, 8, 8)},
        lawn("island", 8, 2, 4, 4),
        HOUSE,
    ]
)
BEHIND_WATER = small_yard(
    areas=[{"id": "pond", "kind": "water", "outline": rectangle(-2, 0.5, 13, 9)}, lawn("lawn", 1, 2, 6, 5), HOUSE]
)

# rule of the clash; a number that the finding must name; a way out that fits
CASES = {
    "stations": (TOO_FEW_STATIONS, "stations", "2 zones", "controller of 2 stations"),
    "supply": (TOO_WEAK, "head-over-supply", "kPa", "Booster pump"),
    "height": (NO_PLACE, "place-height", "0.10 m", "Device riser up to 0.80 m"),
    "class": (NO_CLASS, "head-class", "4.00 m", "All head classes"),
    "one lawn of two": (ONE_LAWN_WITHOUT, "head-class", "1.20 m", "No heads on strip"),
    "shut in": (SHUT_IN, "unreachable", "keep-out", "Trenches allowed through fenced"),
}


def musts(plan):
    return [finding for finding in plan.findings if finding.severity == "must"]


@pytest.mark.parametrize("case", CASES)
def test_a_clash_is_named_with_its_numbers_and_has_a_priced_way_out(case):
    document, rule, number, mend = CASES[case]
    plan = planned(document)
    assert plan.verdict == "does not fit"
    assert {finding.rule for finding in musts(plan)} == {rule}
    words = musts(plan)[0].what
    assert number in words
    assert plan.headline.rstrip(".").lower() == words.rstrip(".").lower()
    fitting = [way for way in plan.ways_out if way.fits]
    assert any(mend.lower() in way.change.lower() for way in fitting)
    for way in fitting:
        assert way.cost > 0
        assert way.zones > 0
        assert way.cost >= way.extra >= 0
    for way in plan.ways_out:
        assert way.fits or way.cost is None
    costs = [way.cost for way in fitting]
    assert costs == sorted(costs)
    assert [way.fits for way in plan.ways_out] == sorted((way.fits for way in plan.ways_out), reverse=True)


def test_a_way_out_that_is_taken_fits():
    """The priced way 'device riser up to 0.80 m', written into the yard, gives a plan that fits at about that price.

    With the fewest heads asked for, so that both searches, the longer one too, weigh evenness against heads alike.
    """
    yard = NO_PLACE | {"heads": {"aim": "fewest heads", "allowed": ["spray"]}}
    way = next(way for way in planned(yard).ways_out if way.change.startswith("Device riser"))
    taken = planned(yard | {"backflow": yard["backflow"] | {"highest_riser": 0.8}})
    assert taken.verdict != "does not fit"
    assert taken.cost.total == pytest.approx(way.cost, rel=0.15)  # a way out is solved by a quicker search
    for inspection in INSPECTIONS:
        inspection(taken)


def test_more_stations_alone_are_priced_with_their_controller():
    plan = planned(TOO_FEW_STATIONS)
    way = next(way for way in plan.ways_out if way.change == "Controller of 2 stations")
    assert way.extra == CATALOGUE.prices["controller"].price + 2 * CATALOGUE.prices["controller station"].price


def test_ground_that_nothing_opens_is_said_without_ways_out():
    """Water all round the lawn: no trench, and no change of supply, class or device helps."""
    plan = planned(BEHIND_WATER)
    assert plan.verdict == "does not fit"
    assert [finding.rule for finding in musts(plan)] == ["unreachable"]
    assert "water" in musts(plan)[0].what
    assert not plan.zones
    assert not plan.pipes
    assert plan.cost is None


def test_a_weak_supply_says_by_how_much_it_falls_short():
    words = musts(planned(TOO_WEAK))[0].what
    needed, kept = (float(number) for number in re.findall(r"([\d.]+) kPa", words))
    assert needed > 90 > 0
    assert kept < needed


def test_the_example_with_too_little_water_is_explained():
    plan = planned_example("bad-supply.yard.json")
    assert plan.verdict == "does not fit"
    assert musts(plan)
    fitting = [way for way in plan.ways_out if way.fits]
    assert fitting
    assert all("stations" in way.change or way.zones <= 1 for way in fitting)


@pytest.mark.parametrize("case", CASES)
def test_a_plan_that_does_not_fit_is_still_a_plan(case):
    plan = planned(CASES[case][0])
    assert Plan.model_validate_json(plan.model_dump_json()) == plan


@pytest.mark.parametrize("kind", BACKFLOW_KINDS)
def test_a_kind_that_is_owned_and_allowed_is_the_kind_used(kind):
    """No silent fallback to another kind: the plan uses what is owned, or says that it does not fit."""
    plan = planned(small_yard(backflow={"allowed": list(BACKFLOW_KINDS), "owned": kind}))
    assert plan.backflow == kind
    assert plan.verdict == "fits"
    owned = [line for line in plan.parts if line.part == kind]
    assert sum(line.owned for line in owned) == (1 if owned else 0)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_random_yard_without_pressure_is_refused_with_reasons(seed):
    plan = planned(random_yard(seed) | {"supply": [{"kind": "static gauge", "pressure": 175}]})
    assert plan.verdict == "does not fit"
    assert "head-over-supply" in {finding.rule for finding in musts(plan)}
    assert any(way.fits for way in plan.ways_out if "ooster" in way.change)


def test_examples_are_all_planned_somewhere():
    kinds = {".json", ".geojson", ".dxf"}
    yards = {p.name for p in EXAMPLES.iterdir() if p.suffix in kinds and not p.name.endswith(".facts.json")}
    assert yards == {*FILES, "bad-supply.yard.json"}
