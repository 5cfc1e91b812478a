"""Lawns whose rates do not match share no zone, unless stations lack, and then the plan says so."""

import itertools
import random

import pytest

from plan_yards import CATALOGUE, planned, rectangle, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.case import QUICK_EFFORT, make_case
from rillwright.jobs.matched import rate_bands
from rillwright.jobs.plan import plan_case
from rillwright.jobs.progress import silent
from rillwright.model.plan import Head
from rillwright.solvers.supply import fit_supply

NOZZLE = "small rotor 1.0 gpm"
LARGEST = 1.5  # quickest over slowest rotor of a zone, docs/theory/limits.md


def head(lawn, rate, *, head_class="small rotor", hydrozone="sun"):
    """A half circle of 5 m whose flow over its ground, 39.3 m², is the rate [mm/h]."""
    flow = rate / 3.6e6 * 3.14159265 / 2 * 5.0**2
    return Head.model_construct(
        lawn=lawn, nozzle=NOZZLE, head_class=head_class, hydrozone=hydrozone, arc=180.0, radius=5.0, flow=flow
    )


def test_lawns_alike_are_one_band_and_others_are_not():
    heads = [head("a", 5.0), head("a", 6.0), head("b", 5.5), head("c", 8.9), head("d", 7.4)]
    assert rate_bands(heads, CATALOGUE) == {"a": 1, "b": 1, "d": 1, "c": 2}
    assert rate_bands(heads[::-1], CATALOGUE) == rate_bands(heads, CATALOGUE)


def test_a_lawn_that_is_unlike_in_itself_takes_in_what_lies_within_it():
    heads = [head("wide", 4.0), head("wide", 8.0), head("inside", 8.0), head("beyond", 8.1)]
    assert rate_bands(heads, CATALOGUE) == {"wide": 1, "inside": 1, "beyond": 2}


def test_classes_and_hydrozones_are_counted_apart():
    heads = [head("a", 5.0), head("b", 30.0, hydrozone="shade"), head("c", 12.0, head_class="mid rotor")]
    assert set(rate_bands(heads, CATALOGUE).values()) == {1}


@pytest.mark.parametrize("seed", range(20))
def test_no_fewer_bands_hold_lawns_of_one_rate_each(seed):
    """Every way to cut the sorted rates is tried."""
    dice = random.Random(seed)
    rates = sorted(dice.uniform(3, 15) for _ in range(7))
    found = rate_bands([head(f"lawn {k}", rate) for k, rate in enumerate(rates)], CATALOGUE)
    least = min(
        len(cuts) + 1
        for size in range(7)
        for cuts in itertools.combinations(range(1, 7), size)
        if all(rates[b - 1] <= LARGEST * rates[a] for a, b in itertools.pairwise([0, *cuts, 7]))
    )
    assert max(found.values()) == least


def two_lawns(stations):
    """A small lawn whose rotors must put on much more than those of the large one beside it."""
    return small_yard(
        areas=[
            {"id": "small", "kind": "lawn", "outline": rectangle(0, 0, 6, 6)},
            {"id": "large", "kind": "lawn", "outline": rectangle(9, 0, 24, 16)},
            {"id": "house", "kind": "building", "outline": rectangle(0, -4, 9, 4)},
        ],
        spot_heights=[{"at": [x, y], "height": 0.0} for x in (0, 34) for y in (-4, 17)],
        heads={"allowed": ["small rotor"]},
        controller={"stations": stations},
    )


def rates_by_zone(plan):
    """Flow over wetted sector, by hand."""
    heads = {h.id: h for h in plan.heads}
    for zone in plan.zones:
        own = [heads[name] for name in zone.heads]
        yield {h.lawn for h in own}, [h.flow / (h.arc * h.radius**2) for h in own]


def test_rotors_of_two_lawns_are_matched_in_every_zone():
    plan = planned(two_lawns(8))
    for lawns, rates in rates_by_zone(plan):
        assert len(lawns) == 1
        assert max(rates) <= LARGEST * min(rates)
    assert "matched-precipitation" not in {finding.rule for finding in plan.findings}


def test_with_too_few_stations_the_plan_says_why_it_cannot():
    yard = validated(two_lawns(2), source="test")
    fit = fit_supply(yard, CATALOGUE, seed=0)
    case = make_case(yard, CATALOGUE, fit=fit, seed=0, effort=QUICK_EFFORT, draws=0)
    plan = plan_case(case, progress=silent, pool=None)
    assert plan.verdict == "fits with cautions"
    assert any(max(rates) > LARGEST * min(rates) for _, rates in rates_by_zone(plan))
    found = next(finding for finding in plan.findings if finding.rule == "matched-precipitation")
    assert "lacks a station" in found.what
