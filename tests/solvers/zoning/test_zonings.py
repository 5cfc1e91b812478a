"""Several zonings to choose among, and zones worked over a few at a time."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning import make_zones, make_zonings, windows, with_bound
from rillwright.solvers.zoning.count import fewest_zones
from rillwright.solvers.zoning.partition import Partition, all_zones, best_partition
from rillwright.solvers.zoning.partition import plan_cost as cost_of_plan
from rillwright.solvers.zoning.plans import cheapest_plans
from rillwright.solvers.zoning.pool import Pool
from rillwright.solvers.zoning.reduced import promising
from rillwright.solvers.zoning.task import zone_task
from rillwright.solvers.zoning.windows import reworked
from zoned_heads import anywhere, check_laws, groups_cost, load, option, partitions, plan_cost, problem_of, random_case


def pairs_of(groups):
    return {(frozenset(group.heads), group.place) for group in groups}


@pytest.mark.parametrize(("heads", "places"), [(8, 3), (24, 6)])
def test_zonings_are_lawful_different_and_in_order_of_cost(heads, places):
    loads, options, may = random_case(21, heads, places=places, per_zone=4, legal=0.9)
    problem = problem_of(loads, options, may)
    zonings = make_zonings(problem, most=3, effort=0)
    assert len(zonings) == 3
    assert with_bound(problem, zonings[0], effort=0) == make_zones(problem, effort=0)
    for zoning in zonings:
        check_laws(zoning, loads, may)
        assert zoning.cost == pytest.approx(groups_cost(zoning.groups, loads, options))
        assert zoning.proofs[1].value == pytest.approx(zoning.cost)
    assert [z.cost for z in zonings] == sorted(z.cost for z in zonings)
    for a, b in itertools.combinations(zonings, 2):
        number = len(a.groups)
        assert len(pairs_of(a.groups) - pairs_of(b.groups)) >= max(1, number // 4)
        assert len(b.groups) == number


def test_a_plan_found_because_it_must_differ_is_never_called_the_cheapest():
    others = 0
    for seed in range(8):
        loads, options, may = random_case(70 + seed, 16, places=4, per_zone=4)
        task = zone_task(problem_of(loads, options, may))
        (members,) = task.groups
        start = [fewest_zones(task, members, seed=0, watch=Watch()).zones]
        first, *more = cheapest_plans(task, start, most=4, effort=0, seed=0, watch=Watch())
        assert not any(plan.proven for plan in more)
        costs = [cost_of_plan(task, plan) for plan in (first, *more)]
        assert not first.proven or costs[0] == min(costs)
        others += len(more)
    assert others >= 8


def test_the_second_zoning_is_the_second_best_of_every_partition():
    """Two zones at one place: a quarter of them is one, so the second zoning is the next partition by cost."""
    loads, options, may = random_case(5, 7, places=1, per_zone=4)
    first, second = make_zonings(problem_of(loads, options, may), most=2)
    by_id = {h.id: h for h in loads}
    costs = sorted(
        plan_cost(zones, ["P0"] * len(zones), by_id, {"P0": options[0]})
        for zones in partitions(list(by_id))
        if len(zones) == len(first.groups)
        and all(sum(by_id[h].flow for h in zone) <= loads[0].capacity + 1e-12 for zone in zones)
    )
    assert (first.cost, second.cost) == (pytest.approx(costs[0]), pytest.approx(costs[1]))


@pytest.mark.parametrize("seed", range(6))
def test_nothing_of_a_cheaper_choice_is_left_out(seed):
    """Every choice of two zones with their places, by hand: what costs less than a known one is all in what is left."""
    loads, options, may = random_case(30 + seed, 6, places=2, per_zone=3)
    task = zone_task(problem_of(loads, options, may))
    pool, zones = Pool(task), all_zones(task)
    links = [(zone, p) for zone in zones for p in range(2)]
    cost = np.array([pool.cost(zone, [p]) for zone, p in links])
    opening = dict(enumerate(task.opening.tolist()))
    choices = [
        (cost[[i, j]].sum() + sum(opening[p] for p in {links[i][1], links[j][1]}), (i, j))
        for i, j in itertools.combinations(range(len(links)), 2)
        if sorted((*links[i][0], *links[j][0])) == list(range(6))
    ]
    choices.sort()
    for known, pair in (choices[0], choices[len(choices) // 3], choices[-1]):
        left = set(promising(links, cost, opening, task.groups, [2], known).tolist())
        assert all(left.issuperset(other) for less, other in choices if less < known - 1e-6)
        plan = Partition(tuple(links[i][0] for i in pair), tuple(links[i][1] for i in pair), proven=False)
        best = best_partition(pool, zones, range(2), [2], known=plan, seed=0, work=1.0, watch=Watch())
        assert best.proven
        assert cost_of_plan(task, best) == pytest.approx(choices[0][0])


def crossed_rows():
    """Three rows of four heads, two of them dealt out crosswise between two zones."""
    loads = [load(f"{row}{i}", (4.0 * i, 30.0 * k)) for k, row in enumerate("ABC") for i in range(4)]
    options = [option("P1", (0.0, 15.0)), option("P2", (0.0, 60.0))]
    task = zone_task(problem_of(loads, options, anywhere(loads, options)))
    return task, Partition(((0, 1, 6, 7), (2, 3, 4, 5), (8, 9, 10, 11)), (0, 0, 1), proven=False)


def test_zones_worked_over_come_back_cheaper():
    """By hand: a row of 12 m is a zone; a crossed zone has 30 m between its rows besides."""
    task, crossed = crossed_rows()
    better = reworked(task, crossed, seed=0, watch=Watch())
    assert set(better.zones) == {(0, 1, 2, 3), (4, 5, 6, 7), (8, 9, 10, 11)}
    assert cost_of_plan(task, better) < cost_of_plan(task, crossed) - 2 * 8 * 18


def test_zones_are_not_worked_over_once_the_search_is_asked_to_stop():
    task, crossed = crossed_rows()
    assert reworked(task, crossed, seed=0, watch=Watch(stopped=lambda: True)) == crossed


@pytest.mark.parametrize("seed", [1, 2])
def test_working_over_costs_no_more_and_stays_lawful(seed, monkeypatch):
    """Two groups, places that serve some heads only; from the plain start of the search, however full it is."""
    monkeypatch.setattr(windows, "_LIGHT", replace(windows._LIGHT, over=0.0))
    loads, options, may = random_case(seed, 16, places=3, per_zone=3, fill=0.95, groups=2, legal=0.9)
    problem = problem_of(loads, options, may)
    task = zone_task(problem)
    start = make_zonings(problem, most=1, effort=0)[0]
    number, place = ({one.id: i for i, one in enumerate(many)} for many in (loads, options))
    plan = Partition(
        tuple(tuple(sorted(number[head] for head in group.heads)) for group in start.groups),
        tuple(place[group.place] for group in start.groups),
        proven=False,
    )
    better = reworked(task, plan, seed=seed, watch=Watch())
    assert cost_of_plan(task, better) <= cost_of_plan(task, plan) + 1e-9
    assert sorted(head for zone in better.zones for head in zone) == list(range(len(loads)))
    assert len(better.zones) == len(plan.zones)
    for zone, home in zip(better.zones, better.places, strict=True):
        assert len({loads[head].group for head in zone}) == 1
        assert all(loads[head].id in may[options[home].id] for head in zone)
        assert sum(loads[head].flow for head in zone) <= min(loads[head].capacity for head in zone) + 1e-12
