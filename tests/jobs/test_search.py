"""The search over zones, places, routes and sizes together: its accounts, its bound, and small cases by enumeration."""

import itertools
import math
import random

import numpy as np
import pytest
from scipy.sparse.csgraph import minimum_spanning_tree

from plan_yards import FILES, planned, planned_example, random_yard, small_yard
from rillwright.jobs.search.bound import STEINER
from rillwright.jobs.search.moves import Neighbourhood, in_order
from rillwright.jobs.zoned import ZoneRoom
from rillwright.solvers.places import PlaceOption
from rillwright.solvers.zoning import HeadLoad, ZoneGroup, ZoneProblem

EXAMPLE_YARDS = [pytest.param(name, marks=pytest.mark.xdist_group(name)) for name in FILES]


def the_accounts_hold(plan):
    totals = [step.total for step in plan.search]
    assert totals == sorted(totals, reverse=True)
    assert plan.cost.total == pytest.approx(totals[-1], rel=1e-9)
    proof = next(proof for proof in plan.proofs if proof.stage == "whole system: cost")
    assert proof.value == pytest.approx(totals[-1], rel=1e-9)
    assert proof.bound == pytest.approx(sum(part.amount for part in plan.least), rel=1e-9)
    assert 0 < proof.bound < proof.value


@pytest.mark.parametrize("name", EXAMPLE_YARDS)
def test_the_search_of_an_example_adds_up(name):
    the_accounts_hold(planned_example(name))


@pytest.mark.parametrize("seed", [1, 6, 9])
def test_the_search_of_a_random_yard_adds_up(seed):
    the_accounts_hold(planned(random_yard(seed)))


def test_the_bound_counts_what_every_parts_list_holds():
    """Each part of the bound against the same things in the finished parts list."""
    plan = planned(small_yard())
    least = {part.what: part.amount for part in plan.least}
    paid = {line.part: (line.quantity - line.owned) * line.price for line in plan.parts}

    def spent(*beginnings):
        return sum(cost for part, cost in paid.items() if part.startswith(beginnings))

    assert least["heads"] == pytest.approx(spent("head ", "nozzle ", "swing joint"))
    assert least["trench"] < plan.cost.trenches
    assert least["pipe"] < spent("pipe ")
    assert least["wire"] <= spent("wire")
    assert least.get("tees", 0.0) <= spent("tee ")
    assert least["valves"] <= spent("in-line", "valve with", "valve box", "splice", "blow-out", str(plan.backflow))


def test_the_share_of_the_spanning_tree_is_under_known_steiner_trees():
    """Equilateral triangle and square: least trees by hand, sqrt(3) and 1 + sqrt(3); textbook geometry."""
    assert math.sqrt(3) >= STEINER * 2
    assert 1 + math.sqrt(3) >= STEINER * 3


def room(heads, *, places, stations=4, capacity=2.5):
    loads = tuple(HeadLoad(f"H{i}", at, 0.0, 1.0, capacity, group) for i, (at, group) in enumerate(heads))
    options = tuple(PlaceOption(name, at, 0.0, math.hypot(*at), 1.0) for name, at in places.items())
    serve = {name: frozenset(load.id for load in loads) for name in places}
    problem = ZoneProblem(loads, options, serve, stations=stations, place_cost=50, zone_cost=60, trench_cost=3)
    return ZoneRoom("double check", (), {}, problem)


def test_every_change_is_a_lawful_zoning_of_the_same_heads():
    dice = random.Random(3)
    heads = [((dice.uniform(0, 20), dice.uniform(0, 20)), dice.choice("ab")) for _ in range(9)]
    the_room = room(heads, places={"P1": (0, 0), "P2": (10, 4), "P3": (3, 15)}, stations=8)
    group = {load.id: load.group for load in the_room.problem.loads}
    start = in_order([ZoneGroup((load.id,), "P1") for load in the_room.problem.loads])
    hood = Neighbourhood(the_room, ("P1", "P2", "P3"))
    merged = next(zoning for zoning in hood.around(start) if len(zoning) < len(start))
    for zonings in (list(hood.around(start)), list(hood.around(merged))):
        assert len(set(zonings)) == len(zonings) > 20
        for zoning in zonings:
            assert sorted(head for zone in zoning for head in zone.heads) == sorted(group)
            assert all(len({group[head] for head in zone.heads}) == 1 for zone in zoning)
            assert all(len(zone.heads) <= 2 for zone in zoning)  # two draw 2, three draw 3 of 2.5


def test_changes_lead_from_any_zoning_to_any_other():
    """On four heads and two places the neighbourhoods join all lawful zonings, so that no corner is out of reach."""
    the_room = room([((0, 0), "a"), ((5, 0), "a"), ((0, 5), "a"), ((6, 6), "a")], places={"P1": (0, 0), "P2": (5, 5)})
    hood = Neighbourhood(the_room, ("P1", "P2"))
    everything = set(_all_zonings([f"H{i}" for i in range(4)], ("P1", "P2"), most=2))
    start = next(iter(sorted(everything, key=repr)))
    seen, waiting = {start}, [start]
    while waiting:
        for other in hood.around(waiting.pop()):
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    assert seen == everything


def _all_zonings(heads, places, *, most):
    for partition in _partitions(heads):
        if max(map(len, partition)) <= most:
            for homes in itertools.product(places, repeat=len(partition)):
                yield in_order([ZoneGroup(tuple(zone), home) for zone, home in zip(partition, homes, strict=True)])


def _partitions(things):
    if not things:
        yield []
        return
    first, *rest = things
    for partition in _partitions(rest):
        yield [[first], *partition]
        for i, part in enumerate(partition):
            yield [*partition[:i], [first, *part], *partition[i + 1 :]]


def test_the_rough_rank_is_the_spanning_trees_by_hand():
    the_room = room([((3, 4), "a"), ((3, 0), "a")], places={"P1": (3, 2), "P2": (0, 0)})
    zoning = in_order([ZoneGroup(("H0", "H1"), "P1")])
    by_hand = 3 * (2 + 2 + math.hypot(3, 2)) + 50
    assert Neighbourhood(the_room, ("P1", "P2")).rough(zoning)[0] == pytest.approx(by_hand)
    apart = np.array([[0.0, 2, 2], [2, 0, 4], [2, 4, 0]])
    assert minimum_spanning_tree(apart).sum() == 4
