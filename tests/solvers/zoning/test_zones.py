"""Zones and places: against every partition on small cases, slopes, many heads, and the laws of a zoning."""

import itertools
import time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning import make_zones
from zoned_heads import (
    anywhere,
    brute_force,
    by_height,
    check_laws,
    groups_cost,
    lawn_case,
    load,
    option,
    plan_cost,
    problem_of,
    random_case,
    zoned,
)


@pytest.mark.parametrize("seed", range(24))
def test_small_cases_equal_every_partition(seed):
    kind = {"groups": 1 + seed % 2, "vary": (0.0, 0.5)[seed // 2 % 2], "discrete": seed % 3 == 0}
    heads = 6 + seed % 2
    loads, options, may = random_case(seed, heads, places=3, per_zone=3, legal=(1.0, 0.7)[seed % 2], **kind)
    zoning = zoned(loads, options, may, stations=20)
    fewest, cost = brute_force(loads, options, may)
    check_laws(zoning, loads, may)
    assert zoning.status == "optimal"
    assert len(zoning.groups) == fewest
    assert zoning.cost == pytest.approx(cost, rel=1e-7)
    assert [proof.stage for proof in zoning.proofs] == ["zones: fewest", "zones: cost"]
    by_id, places = {h.id: h for h in loads}, {o.id: o for o in options}
    stated = plan_cost([g.heads for g in zoning.groups], [g.place for g in zoning.groups], by_id, places)
    assert zoning.cost == pytest.approx(stated)


def test_eight_heads_equal_every_partition():
    loads, options, may = random_case(77, 8, places=2, per_zone=4, fill=0.95)
    zoning = zoned(loads, options, may, stations=20)
    fewest, cost = brute_force(loads, options, may)
    assert (len(zoning.groups), zoning.cost) == (fewest, pytest.approx(cost, rel=1e-7))


TERRACE = [load(f"T{i}", (4.0 * i, 0.0), level=2.5) for i in range(3)]
BACK = [load(f"B{i}", (4.0 * i, 20.0), level=0.1) for i in range(3)]
TOP, BOTTOM = option("top", (4.0, 2.0), highest=2.4 + 1.2), option("bottom", (4.0, 18.0), highest=1.2)


@pytest.mark.parametrize("clearance", [0.1524, 0.3048], ids=["atmospheric", "pressure"])  # ASSE 1001, ASSE 1020
def test_the_bottom_never_serves_the_terrace(clearance):
    """Terrace 2.4 m over the back lawn. The top may serve both; whether the bottom pays depends on its price."""
    loads, options = TERRACE + BACK, [TOP, BOTTOM]
    may = by_height(loads, options, clearance)
    dear = zoned(loads, options, may, stations=4, place_cost=500, zone_cost=100, trench_cost=8)
    cheap = zoned(loads, options, may, stations=4, place_cost=1, zone_cost=100, trench_cost=80)
    for zoning in (dear, cheap):
        check_laws(zoning, loads, may)
        assert zoning.status == "optimal"
        assert all(g.place == "top" for g in zoning.groups if any(h.startswith("T") for h in g.heads))
    assert dear.places_used == ("top",)
    assert set(zoned(BACK, options, may, stations=4).places_used) <= {"top", "bottom"}


def test_a_second_place_is_opened_where_it_saves_more_than_it_costs():
    near_entry = [option("top", (4.0, 2.0), highest=3.6), option("bottom", (4.0, 18.0), highest=1.2)]
    loads = [*TERRACE, *(load(f"B{i}", (4.0 * i, 20.0), level=0.1, group="b") for i in range(3))]
    loads += [load(f"C{i}", (4.0 * i, 24.0), level=0.1, group="c") for i in range(3)]
    may = by_height(loads, near_entry, 0.1524)
    zoning = zoned(loads, near_entry, may, stations=4, place_cost=1, zone_cost=100, trench_cost=8)
    assert {g.heads[0][0]: g.place for g in zoning.groups} == {"T": "top", "B": "bottom", "C": "bottom"}


def test_a_place_rule_can_force_one_more_zone():
    """Four heads would fit one zone by flow, but no single place may serve all four."""
    loads = [load(f"H{i}", (float(i), 0.0)) for i in range(4)]
    options = [option("P1"), option("P2", (5.0, 0.0))]
    may = {"P1": frozenset({"H0", "H1"}), "P2": frozenset({"H2", "H3"})}
    zoning = zoned(loads, options, may, stations=4)
    assert sorted(group.heads for group in zoning.groups) == [("H0", "H1"), ("H2", "H3")]
    assert zoning.status == "optimal"


def test_the_weakest_head_sets_the_zone_capacity():
    """Six heads of 1.0 with capacity 6 make one zone; one head of capacity 2 among them makes a second."""
    loads = [load(f"H{i}", (3.0 * i, 0.0), capacity=6.0) for i in range(6)]
    options = [option("P1")]
    assert len(zoned(loads, options, anywhere(loads, options), stations=4).groups) == 1
    loads[5] = load("H5", (15.0, 0.0), capacity=2.0)
    zoning = zoned(loads, options, anywhere(loads, options), stations=4)
    assert len(zoning.groups) == 2
    assert zoning.status == "optimal"
    weak = next(group for group in zoning.groups if "H5" in group.heads)
    assert len(weak.heads) <= 2


def test_stations_too_few_still_gives_the_fewest_zones():
    loads = [load(f"H{i}", (3.0 * i, 0.0)) for i in range(10)]
    options = [option("P1")]
    zoning = zoned(loads, options, anywhere(loads, options), stations=2)
    check_laws(zoning, loads, anywhere(loads, options))
    assert zoning.status == "infeasible"
    (clash,) = zoning.clashes
    assert (clash.kind, clash.where, clash.need, clash.have, clash.short) == ("stations", "controller", 3, 2, 1)
    assert zoning.proofs[0].status == "optimal"
    assert zoning.proofs[0].bound == 3


def test_a_head_no_place_may_serve_says_how_much_higher():
    loads = [load("H1", level=0.1), load("H2", level=3.0)]
    options = [option("P1", highest=1.2), option("P2", (2.0, 0.0), highest=1.5)]
    may = by_height(loads, options, 0.1524)
    zoning = zoned(loads, options, may, stations=4, clearance=0.1524)
    (clash,) = zoning.clashes
    assert (clash.kind, clash.where) == ("height", "H2")
    assert clash.short == pytest.approx(3.0 + 0.1524 - 1.5)
    assert zoning.groups == ()
    assert zoning.status == "infeasible"


def test_a_head_over_its_own_capacity_says_by_how_much():
    loads = [load("H1"), load("H2", flow=5.0, capacity=4.0)]
    options = [option("P1")]
    zoning = zoned(loads, options, anywhere(loads, options), stations=4)
    (clash,) = zoning.clashes
    assert (clash.kind, clash.where) == ("flow", "H2")
    assert clash.short == pytest.approx(1e-4)
    assert zoning.groups == ()


def test_no_places_and_no_heads():
    lonely = zoned([load("H1")], [], {}, stations=4)
    assert [clash.kind for clash in lonely.clashes] == ["height"]
    assert zoned([], [option("P1")], {}, stations=4).status == "optimal"


def test_thirty_heads_at_tight_fill_twice_the_same():
    loads, options, may = random_case(11, 30, places=12, fill=0.985, per_zone=7, discrete=True, groups=2)
    zoning = zoned(loads, options, may, stations=20)
    check_laws(zoning, loads, may)
    fewest, cost = zoning.proofs
    assert fewest.status == "optimal"
    assert cost.bound is not None
    assert cost.gap < 0.1
    assert zoning == zoned(loads, options, may, stations=20)


def test_no_time_still_gives_lawful_zones_and_true_bounds():
    loads, options, may = random_case(4, 30, places=8, per_zone=6, fill=0.97, groups=2, legal=0.8)
    rushed = zoned(loads, options, may, stations=20, watch=Watch(deadline=time.monotonic() + 0.01))
    check_laws(rushed, loads, may)
    calm = zoned(loads, options, may, stations=20)
    assert rushed.proofs[0].bound <= calm.proofs[0].value <= rushed.proofs[0].value
    assert rushed.proofs[1].bound is None or rushed.proofs[1].bound <= rushed.cost


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    seed=st.integers(0, 10**6),
    heads=st.integers(1, 14),
    groups=st.integers(1, 3),
    legal=st.sampled_from([1.0, 0.6]),
    vary=st.sampled_from([0.0, 0.6]),
    stations=st.integers(1, 6),
)
def test_laws_hold_on_any_yard(seed, heads, groups, legal, vary, stations):
    loads, options, may = random_case(seed, heads, groups=groups, legal=legal, vary=vary)
    zoning = zoned(loads, options, may, stations=stations)
    check_laws(zoning, loads, may)
    short = [clash for clash in zoning.clashes if clash.kind == "stations"]
    assert bool(short) == (len(zoning.groups) > stations)
    for proof in zoning.proofs:
        assert proof.bound is not None
        assert proof.bound <= proof.value + 1e-9


def test_a_search_asked_to_stop_ends_with_lawful_zones():
    """The first question is answered no, all later ones yes: as when a person interrupts."""
    loads, options, may = random_case(4, 30, places=8, per_zone=6, fill=0.97, groups=2)
    asked = itertools.count()
    stopped = zoned(loads, options, may, watch=Watch(stopped=lambda: next(asked) > 0))
    check_laws(stopped, loads, may)
    assert next(asked) > 1
    assert stopped.cost >= zoned(loads, options, may).cost


def test_many_heads_are_zoned_in_parts():
    """One group of 250 heads: lawful, within 3 % of the fewest, and cost near its bound."""
    loads, options, may = lawn_case(250, fill=0.95)
    zoning = make_zones(problem_of(loads, options, may, stations=100), effort=0)
    check_laws(zoning, loads, may)
    fewest, cost = zoning.proofs
    assert fewest.value <= 1.03 * fewest.bound
    assert cost.bound < cost.value < 1.35 * cost.bound
    assert cost.value == pytest.approx(groups_cost(zoning.groups, loads, options))
