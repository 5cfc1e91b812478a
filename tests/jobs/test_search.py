"""The search over zones, places, routes and sizes together: its accounts, its bound, and small cases by enumeration."""

import itertools
import math
import random

import numpy as np
import pytest
from scipy.sparse.csgraph import shortest_path

from least_trees import steiner_weight
from plan_yards import CATALOGUE, FILES, planned, planned_example, random_yard, small_yard
from rillwright.jobs.build import with_pipes
from rillwright.jobs.search.bound import STEINER, least_costs
from rillwright.jobs.search.moves import Change, Neighbourhood, in_order
from rillwright.jobs.zoned import ZoneRoom, drafted
from rillwright.solvers.places import PlaceOption
from rillwright.solvers.zoning import HeadLoad, ZoneGroup, ZoneProblem, make_zones
from tiny_yards import small_room, the_case


def the_accounts_hold(plan):
    totals = [step.total for step in plan.search]
    assert totals == sorted(totals, reverse=True)
    assert plan.cost.total == pytest.approx(totals[-1], rel=1e-9)
    proof = next(proof for proof in plan.proofs if proof.stage == "whole system: cost")
    assert proof.value == pytest.approx(totals[-1], rel=1e-9)
    assert proof.bound == pytest.approx(sum(part.amount for part in plan.least), rel=1e-9)
    assert 0 < proof.bound < proof.value


@pytest.mark.parametrize("name", FILES)
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
    price = {line.part: line.price for line in plan.parts}
    laid = sum(pipe.length * price[f"pipe {pipe.material} {pipe.size}"] for pipe in plan.pipes)
    assert 0.7 * (plan.cost.trenches + laid) < least["trench and pipe"] <= plan.cost.trenches + laid
    assert laid < spent("pipe ")
    assert least["wire"] <= spent("wire")
    assert least["branches"] <= spent("tee ", "saddle ", "clamp", "crimp ring")
    assert least.get("risers", 0.0) <= spent("pipe PVC schedule 40", "elbow ", "union ")
    gravel = 2 * price["bag of gravel"]
    valves = spent("in-line", "valve with", "valve box", "splice", "blow-out", str(plan.backflow)) + gravel
    assert least["valves"] <= valves
    ends = spent("isolating", "drain", "round box", "bag of gravel", "adapter", "nipple", "bushing", "union") - gravel
    assert least["zone ends"] + least["main ends"] <= ends


def test_the_bound_on_trench_and_pipe_is_under_every_tree():
    """The routing graph of a lawn with a walk across: the lightest tree of six ends, by a method written apart."""
    plan_case, room = the_case(), small_room(0)
    zoning = make_zones(room.problem, effort=0.0)
    draft = with_pipes(drafted(room, zoning, plan_case), plan_case)
    board = draft.pipework.board
    part = next(p for p in least_costs([room], plan_case, board) if p.what == "trench and pipe")
    pipe = min(p.price for name, p in CATALOGUE.prices.items() if name.startswith("pipe PE "))
    graph, weight = board.graph, board.graph.trench + pipe * board.graph.length
    matrix = np.full((len(graph.points),) * 2, np.inf)
    matrix[graph.first, graph.second] = weight
    far = shortest_path(np.minimum(matrix, matrix.T), directed=False)
    ends = [board.number["entry"], *(board.number[head.id] for head in room.heads)]
    exact = steiner_weight(far, ends)
    assert 0.95 * exact < part.amount <= exact + 1e-6


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
    merged = next(change.on(start) for change in hood.around(start) if len(change.new) < len(change.old))
    for begin in (start, merged):
        zonings = [change.on(begin) for change in hood.around(begin)]
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
        here = waiting.pop()
        for other in (change.on(here) for change in hood.around(here)):
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
    """Two heads 4 m apart, their valve 2 m from each, against one valve at each head's own place."""
    the_room = room([((3, 4), "a"), ((3, 0), "a")], places={"P1": (3, 2), "P2": (0, 0)})
    both, first, second = ZoneGroup(("H0", "H1"), "P1"), ZoneGroup(("H0",), "P1"), ZoneGroup(("H1",), "P2")
    hood = Neighbourhood(the_room, ("P1", "P2"))
    by_hand = 3 * (2 + 2 + math.hypot(3, 2)) + 50
    assert hood.rough(Change((), (both,)), {}) == pytest.approx(by_hand)
    assert hood.rough(Change((both,), (first, second)), {"P1": 1}) == pytest.approx(3 * (2 + 3 - 4 + 0) + 50)
    assert hood.rough(Change((first, second), (both,)), {"P1": 3, "P2": 1}) == pytest.approx(-3 * 1 - 50)
