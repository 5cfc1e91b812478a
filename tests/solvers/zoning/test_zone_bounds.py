"""Bounds of zonings: never over the truth of every partition, near it at tight fills, and the rows that raise them."""

import itertools
import math
import random

import numpy as np
import pytest

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning import make_zones
from rillwright.solvers.zoning.bounds import cost_bound, forest_bound, open_sets
from rillwright.solvers.zoning.bounds.cut_kernels import charged
from rillwright.solvers.zoning.bounds.cuts import Rows, broken_sets
from rillwright.solvers.zoning.bounds.open_sets import OpenSets
from rillwright.solvers.zoning.count import fewest_zones
from rillwright.solvers.zoning.patterns import kinds_of, pattern_bound
from rillwright.solvers.zoning.pool import spread_tree
from zoned_heads import (
    PRICES,
    brute_force,
    by_places,
    check_laws,
    lawn_case,
    partitions,
    problem_of,
    random_case,
    task_of,
    tree_length,
    zoned,
)


@pytest.mark.parametrize("seed", range(12))
def test_bounds_never_exceed_the_truth(seed):
    loads, options, may = random_case(
        100 + seed, 7, places=3, per_zone=3, vary=(0.0, 0.5)[seed % 2], groups=1 + seed % 2, legal=(1.0, 0.6)[seed % 2]
    )
    fewest, cost = brute_force(loads, options, may)
    task = task_of(loads, options, may)
    counts = [fewest_zones(task, members, seed=0, watch=Watch()) for members in task.groups]
    patterns = [
        pattern_bound(task, kinds_of(task, members), start=[tuple(range(len(kinds_of(task, members))))], watch=Watch())
        for members in task.groups
    ]
    assert sum(count.bound for count in counts) == fewest
    assert sum(bound for bound, _ in patterns) <= fewest
    bound = cost_bound(task, [len(count.zones) for count in counts], watch=Watch())
    assert bound is not None
    truth = cost - PRICES["zone_cost"] * fewest
    free = all(len(heads) == len(loads) for heads in may.values())
    assert (0.7 * truth if free else 0.0) < bound <= truth * (1 + 1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_each_set_of_places_has_a_bound_under_its_truth(seed):
    """One programme for all sets: whichever it worked on last, no bound is over the best plan that opens its places."""
    loads, options, may = random_case(400 + seed, 7, places=4, per_zone=3, groups=1 + seed % 2)
    task = task_of(loads, options, may)
    counts = [len(fewest_zones(task, members, seed=0, watch=Watch()).zones) for members in task.groups]
    fewest, cheapest = by_places(loads, options, may)
    assert fewest == sum(counts)
    few = OpenSets(task, counts)
    assert few.size == 4
    while few.work(4, Watch())[1]:
        for opened, bound in zip(every_set(options), few.bounds, strict=True):
            assert bound <= (cheapest.get(opened, math.inf) - PRICES["zone_cost"] * fewest) * (1 + 1e-9)
    assert few.bound > 0.8 * (min(cheapest.values()) - PRICES["zone_cost"] * fewest)


def every_set(options):
    """Sets of places as bounds are kept of them: single ones, then pairs, and so on."""
    names = [option.id for option in options]
    return [one for size in range(1, len(names) + 1) for one in itertools.combinations(names, size)]


def test_plans_of_more_places_than_the_sets_know_are_bounded_together(monkeypatch):
    """With few sets kept the bound is no less true."""
    monkeypatch.setattr(open_sets, "_SETS", 10)
    loads, options, may = random_case(410, 7, places=4, per_zone=3)
    task = task_of(loads, options, may)
    fewest, cost = brute_force(loads, options, may)
    few = OpenSets(task, [fewest])
    assert (few.size, len(few.bounds)) == (2, 10)
    assert 0.8 * cost < cost_bound(task, [fewest], watch=Watch()) + PRICES["zone_cost"] * fewest <= cost * (1 + 1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_bounds_hold_where_no_single_place_may_serve_all(seed, monkeypatch):
    """Each of three places may serve a third of the heads: all three are needed, and may be more than sets are kept."""
    if seed % 2:
        monkeypatch.setattr(open_sets, "_SETS", 3)
    loads, options, _ = random_case(420 + seed, 7, places=3, per_zone=3)
    may = {o.id: frozenset(h.id for k, h in enumerate(loads) if k % 3 == number) for number, o in enumerate(options)}
    task = task_of(loads, options, may)
    fewest, cost = brute_force(loads, options, may)
    bound = cost_bound(task, [fewest], watch=Watch()) + PRICES["zone_cost"] * fewest
    assert 0.8 * cost < bound <= cost * (1 + 1e-9)


def test_tree_equals_kruskal():
    r = random.Random(5)
    points = [(r.uniform(0, 20), r.uniform(0, 20)) for _ in range(12)]
    between = np.array([[math.dist(a, b) for b in points] for a in points])
    assert spread_tree(between) == pytest.approx(tree_length(points))
    assert spread_tree(between[3:4, 3:4]) == 0.0


@pytest.mark.parametrize(
    ("heads", "fill", "discrete", "groups", "vary"),
    [(40, 0.97, False, 1, 0.0), (60, 0.996, False, 1, 0.0), (60, 0.99, True, 1, 0.0), (80, 0.996, False, 1, 0.1)],
)
def test_fewest_zones_is_proven_at_tight_fill(heads, fill, discrete, groups, vary):
    loads, options, may = random_case(3, heads, fill=fill, per_zone=8, discrete=discrete, groups=groups, vary=vary)
    task = task_of(loads, options, may)
    for members in task.groups:
        count = fewest_zones(task, members, seed=0, watch=Watch())
        assert len(count.zones) == count.bound
        assert sorted(h for zone in count.zones for h in zone) == sorted(members)
        assert all(task.fits(zone) for zone in count.zones)


@pytest.mark.parametrize(
    ("heads", "groups", "fill", "seed", "most"),
    [(60, 1, 0.97, 0, 0.05), (60, 1, 0.97, 1, 0.05), (60, 1, 0.99, 0, 0.05), (200, 4, 0.97, 0, 0.10)],
)
def test_cost_is_within_its_limit_of_the_bound(heads, groups, fill, seed, most):
    loads, options, may = lawn_case(heads, fill=fill, groups=groups, seed=seed)
    zoning = zoned(loads, options, may, stations=100)
    check_laws(zoning, loads, may)
    fewest, cost = zoning.proofs
    assert fewest.status == "optimal"
    assert cost.gap < most


def test_more_effort_costs_no_more_and_bounds_no_less():
    loads, options, may = lawn_case(32, fill=0.97)
    quick, full = (make_zones(problem_of(loads, options, may), effort=effort) for effort in (0, 1))
    check_laws(quick, loads, may)
    assert full.cost < quick.cost
    assert quick.proofs[1].bound < full.proofs[1].bound <= full.cost


@pytest.mark.parametrize("seed", range(6))
def test_the_shortest_tree_with_branches_bounds_every_partition(seed):
    loads, options, may = random_case(
        200 + seed, 7, places=3, per_zone=3, groups=1 + seed % 2, legal=(1.0, 0.6)[seed % 2]
    )
    fewest, cost = brute_force(loads, options, may)
    task = task_of(loads, options, may)
    counts = [len(fewest_zones(task, members, seed=0, watch=Watch()).zones) for members in task.groups]
    truth = cost - PRICES["zone_cost"] * fewest
    free = all(len(heads) == len(loads) for heads in may.values())
    assert (0.5 * truth if free else 0.0) < forest_bound(task, counts) <= truth * (1 + 1e-9)


def test_a_root_that_nothing_leaves_breaks_a_row():
    """By hand: head 1 takes in a whole trench from a place and passes half on.

    Its share of 0.4 is under the 0.9 that every zone holds, so no zone is in the set of it alone, and the root should
    leave it whole: broken by one half. Head 4 passes all on. Head 0 is of another group.
    """
    share, root = np.array([1.0, 0.4, 0.5, 0.5, 0.4]), np.array([1.0, 1.0, 0.0, 0.0, 1.0])
    arcs = np.zeros((5, 5))
    arcs[1, 2], arcs[3, 2], arcs[4, 3] = 0.5, 0.5, 1.0
    broken = broken_sets([1, 2, 3, 4], share, arcs, root, 0.9)
    lines = zip(broken.inside, broken.outward, strict=True)
    sets = [(np.flatnonzero(inside).tolist(), bool(outward)) for inside, outward in lines]
    assert len(set(map(str, sets))) == len(sets)
    assert [heads for heads, outward in sets if outward and len(heads) == 1] == [[1]]
    alone = sets.index(([1], True))
    assert (broken.most[alone], broken.excess[alone]) == (0, pytest.approx(0.5))


def test_what_rows_charge_is_their_prices_times_their_coefficients():
    dice = np.random.default_rng(1)
    rows = Rows(dice.random((9, 6)) < 0.5, dice.random(9) < 0.5, np.ones(9), np.ones(9))
    price = np.where(dice.random(9) < 0.3, 0.0, dice.random(9))
    tail, head = np.indices((7, 6)).reshape(2, -1)  # tail 6 is a place
    by_rows = (price @ rows.coefficients(tail, head)).reshape(7, 6)
    between, placed = charged(rows.inside, rows.outward, price)
    apart = ~np.eye(6, dtype=bool)
    assert between[apart] == pytest.approx(by_rows[:6][apart])
    assert placed == pytest.approx(by_rows[6])


@pytest.mark.parametrize("seed", range(6))
def test_every_partition_keeps_the_rows_of_full_zones(seed):
    """At tight fill: each lawful partition, its zones as trees at random, breaks no outward row of any set of heads.

    What a row holds of each tree, by its coefficients, less its limit: 0 at the most, and somewhere just that.
    """
    loads, options, may = random_case(300 + seed, 7, places=1, per_zone=4, fill=0.97)
    task = task_of(loads, options, may)
    share = np.array(task.flow) / np.array(task.capacity)
    fewest = len(fewest_zones(task, range(7), seed=0, watch=Watch()).zones)
    least = float(share.sum()) - (fewest - 1)
    assert least > 0
    dice, over = random.Random(seed), []
    for zones in partitions(list(range(7))):
        if len(zones) != fewest or any(share[list(zone)].sum() > 1 for zone in zones):
            continue
        for trees in ([random_tree(zone, dice) for zone in zones] for _ in range(3)):
            roots, arcs = [root for root, _ in trees], [arc for _, own in trees for arc in own]
            assert len(roots) + len(arcs) == 7
            for size in range(1, 7):
                for inside in itertools.combinations(range(7), size):
                    most = math.floor(share[list(inside)].sum() / least + 1e-9)
                    members = np.isin(np.arange(7), inside)[None, :]
                    row = Rows(members, np.array([True]), np.array([float(most)]), np.zeros(1))
                    tails, heads = np.array([(7, root) for root in roots] + arcs).T
                    held = row.coefficients(tails, heads).sum()
                    over.append(held - most)
    assert max(over) == 0


def random_tree(zone, dice):
    """A zone's root and the trenches from there to each of its heads, as pairs."""
    order = dice.sample(zone, len(zone))
    return order[0], [(dice.choice(order[:k]), order[k]) for k in range(1, len(order))]
