"""Bounds by whole zones: trees against every arborescence of a few heads, bounds against every partition; invented."""

import itertools
import math
import random
from collections import Counter

import numpy as np
import pytest

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.bounds import cost_bound
from rillwright.solvers.zoning.bounds.open_sets import OpenSets
from rillwright.solvers.zoning.bounds.parts import whole_loads
from rillwright.solvers.zoning.bounds.trees import Trees
from rillwright.solvers.zoning.bounds.whole_zones import WholeZones
from rillwright.solvers.zoning.count import fewest_zones
from zoned_heads import PRICES, by_places, random_case, task_of


def drawn(seed, heads, *, worth):
    """Cost of each arc less what the head it comes into is worth, and shares of the heads."""
    r = random.Random(seed)
    at = [(r.uniform(0, 10), r.uniform(0, 10)) for _ in range(heads)]
    paid = [r.uniform(0, worth) for _ in range(heads)]
    arc = np.array([[math.dist(a, b) - pay for b, pay in zip(at, paid, strict=True)] for a in at])
    return arc, np.array([r.uniform(0.1, 0.4) for _ in range(heads)])


def every_tree(root, heads, arc):
    """Least cost of an arborescence out of a head over some heads: each other has one arc in, and all are reached."""
    others = [h for h in heads if h != root]
    least = math.inf
    for tails in itertools.product(heads, repeat=len(others)):
        into = dict(zip(others, tails, strict=True))
        if all(reaches(root, head, into) for head in others):
            least = min(least, sum(arc[tail, head] for head, tail in into.items()))
    return least


def reaches(root, head, into):
    """Whether arcs followed backwards from a head come to the root."""
    seen = set()
    while head != root:
        if head in seen:
            return False
        seen.add(head)
        head = into[head]
    return True


def test_the_cheapest_tree_is_under_every_true_one():
    heads, parts, equal = 6, 50, 0
    for seed in range(12):
        arc, share = drawn(seed, heads, worth=(4.0, 8.0)[seed % 2])
        load = (share * parts).astype(int)
        trees = Trees(arc, load, np.full(heads, parts))
        cheapest = trees.cheapest(arc)
        for root in range(heads):
            rest = [h for h in range(heads) if h != root]
            sets = [(root, *some) for size in range(heads) for some in itertools.combinations(rest, size)]
            true = min(every_tree(root, some, arc) for some in sets if share[list(some)].sum() <= 1)
            assert cheapest[root] <= true + 1e-9
            arcs = trees.arcs(root)
            times = Counter(head for _, head in arcs) + Counter([root])
            assert cheapest[root] == pytest.approx(sum(arc[a, b] for a, b in arcs))
            assert sum(int(load[h]) * n for h, n in times.items()) <= parts
            if max(times.values()) == 1 and share[list(times)].sum() <= 1:
                assert cheapest[root] == pytest.approx(true)
                equal += len(times) > 1
    assert equal > 10


@pytest.mark.parametrize("seed", range(6))
def test_every_true_zone_fits_by_whole_loads(seed):
    """Among all subsets of a group the fullest by whole loads is at their most, and none is over."""
    r = random.Random(seed)
    share = np.array([r.choice((0.11, 0.24, 0.31)) if seed % 2 else r.uniform(0.001, 0.5) for _ in range(10)])
    groups = [(0, 2, 4, 6, 8), (1, 3, 5, 7, 9)]
    load, most = whole_loads(share, groups, [math.ceil(share[list(own)].sum()) for own in groups])
    assert load.min() >= 1
    for own in groups:
        (limit,) = set(most[list(own)])
        sets = [list(some) for size in range(1, 6) for some in itertools.combinations(own, size)]
        assert max(load[some].sum() for some in sets if share[some].sum() <= 1) == limit


def test_whole_loads_leave_hardly_more_room_than_the_flows_do():
    """Heads of three flows in zones 99.5 % full: rounded down, in a thousand parts, they would leave 0.2 % more."""
    share = np.array([0.0503, 0.1207, 0.2212] * 20)
    count = math.ceil(share.sum())
    share *= 0.995 * count / share.sum()
    load, most = whole_loads(share, [range(60)], [count])
    assert most[0] <= 1100
    assert load.sum() / (count * most[0]) > 0.9945
    assert np.floor(1000 * share).sum() / (count * 1000) < 0.993


def test_heads_of_hardly_any_flow_find_room():
    """Loads are whole numbers of one or more, yet heads of a hundredth of a part do not crowd a full zone out."""
    heads = 8
    arc = np.full((heads, heads), 2.0)
    arc[np.arange(heads - 1), np.arange(1, heads)] = -1.0
    share = np.array([0.9999, *[0.00001] * (heads - 1)])
    trees = Trees(arc, *whole_loads(share, [range(heads)], [1]))
    assert trees.cheapest(arc)[0] == pytest.approx(1.0 - heads)


def test_each_head_has_the_most_of_its_own_group():
    arc = np.where(np.eye(4, dtype=bool), np.inf, -1.0)
    arc[:2, 2:] = arc[2:, :2] = np.inf
    trees = Trees(arc, np.array([10, 10, 10, 10]), np.array([20, 20, 19, 19]))
    assert trees.cheapest(arc).tolist() == [-1.0, -1.0, 0.0, 0.0]


def test_no_branch_goes_straight_back():
    """Two heads that are worth more than the way between them are not gone to and fro for ever."""
    arc = np.array([[0.0, -5.0], [-5.0, 0.0]])
    trees = Trees(arc, np.array([10, 10]), np.array([100, 100]))
    assert trees.cheapest(arc).tolist() == [-5.0, -5.0]
    assert trees.arcs(0) == [(0, 1)]


def test_heads_that_share_no_zone_share_no_tree():
    arc = np.full((3, 3), np.inf)
    arc[0, 1] = arc[1, 0] = -4.0
    trees = Trees(arc, np.array([30, 30, 30]), np.array([100, 100, 100]))
    assert trees.cheapest(arc).tolist() == [-4.0, -4.0, 0.0]
    assert trees.arcs(2) == []


@pytest.mark.parametrize("seed", range(8))
def test_each_set_of_places_keeps_a_bound_under_its_truth(seed):
    loads, options, may = random_case(
        500 + seed, 7, places=3, per_zone=3, fill=(0.9, 0.99)[seed % 2], groups=1 + seed // 4
    )
    task = task_of(loads, options, may)
    counts = [len(fewest_zones(task, members, seed=0, watch=Watch()).zones) for members in task.groups]
    fixed, cheapest = PRICES["zone_cost"] * sum(counts), by_places(loads, options, may)[1]
    sets = [one for size in (1, 2, 3) for one in itertools.combinations([o.id for o in options], size)]
    few = OpenSets(task, counts)
    few.work(4, Watch())
    whole, before = WholeZones(few), few.bound
    for _ in range(30):
        going = whole.work(4, Watch())[1]
        for opened, bound in zip(sets, whole.bounds, strict=True):
            assert bound <= (cheapest.get(opened, math.inf) - fixed) * (1 + 1e-9)
        if not going:
            break
    assert whole.bound >= before
    assert whole.bound > 0.85 * (min(cheapest.values()) - fixed)


def test_whole_zones_raise_the_bound_of_a_tight_yard():
    """At 99 % fill the trenches one by one leave a gap that whole zones close in part; enough is enough."""
    loads, options, may = random_case(5, 24, places=2, per_zone=6, fill=0.99)
    task = task_of(loads, options, may)
    counts = [len(fewest_zones(task, members, seed=0, watch=Watch()).zones) for members in task.groups]
    by_trenches = cost_bound(task, counts, enough=0.0, watch=Watch())
    by_zones = cost_bound(task, counts, watch=Watch())
    assert by_zones > 1.005 * by_trenches
    assert cost_bound(task, counts, enough=by_trenches, watch=Watch()) == by_trenches
