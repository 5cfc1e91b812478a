"""Several zonings to choose among, and zones opened up and made anew."""

import itertools

import pytest

from rillwright.solvers.zoning import ZoneGroup, make_zones, make_zonings, rezone, with_bound
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


def test_zones_opened_up_come_back_cheaper_and_the_others_stay():
    """Heads of two rows dealt out crosswise: opened up, each row becomes a zone, and a third zone is left alone."""
    loads = [load(f"A{i}", (4.0 * i, 0.0)) for i in range(4)] + [load(f"B{i}", (4.0 * i, 30.0)) for i in range(4)]
    loads += [load(f"C{i}", (4.0 * i, 60.0)) for i in range(4)]
    options = [option("P1", (0.0, 15.0)), option("P2", (0.0, 60.0))]
    problem = problem_of(loads, options, anywhere(loads, options))
    crossed = [
        ZoneGroup(("A0", "A1", "B2", "B3"), "P1"),
        ZoneGroup(("A2", "A3", "B0", "B1"), "P1"),
        ZoneGroup(("C0", "C1", "C2", "C3"), "P2"),
    ]
    best, *others = rezone(problem, crossed, which={0, 1}, most=2)
    assert {frozenset(g.heads) for g in best} == {frozenset(f"{row}{i}" for i in range(4)) for row in "ABC"}
    assert crossed[2] in best
    assert all(crossed[2] in other for other in others)
    assert groups_cost(best, loads, options) < groups_cost(crossed, loads, options)
