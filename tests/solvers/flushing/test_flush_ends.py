"""Opening ends: one pipe by Bernoulli, sets against every partition, and how flow answers to further ends."""

import itertools
import math

import fluids
import pytest
from scipy.optimize import brentq

from rillwright.model.flushing import FLUSH_VELOCITY
from rillwright.model.network import Link, Network
from rillwright.model.plan import Pipe, SupplyCurve
from rillwright.solvers.flushing.ends import open_in_turn, ways_to_ends
from rillwright.solvers.flushing.order import open_end
from rillwright.solvers.network import solve_network

G, RHO, NU = 9.80665, 999.1, 1.139e-6  # water of 15 °C, from memory
RISER = 0.622 * 0.0254  # [m] 1/2 in schedule 40


def pipe(name, start, end, length, bore):
    return Pipe.model_construct(id=name, start=start, end=end, length=length, bore=bore, zone="Z1", role="lateral")


def solver(pipes, supply):
    """A tree of level pipes from V1, the supply there; ends open at their own riser's bore."""
    nodes = {pipe.start for pipe in pipes} | {pipe.end for pipe in pipes}
    links = tuple(Link(p.id, p.start, p.end, length=p.length, bore=p.bore) for p in pipes)
    net = Network("V1", supply, dict.fromkeys(sorted(nodes), 0.0), links)

    def solve(ends):
        opened = {end: open_end(RISER) for end in ends}
        state = solve_network(Network("V1", supply, net.elevation, links, opened))
        assert state.source_flow == pytest.approx(sum(state.outlet_flow.values()), rel=1e-9)
        return state.source_flow, {link: abs(flow) for link, flow in state.flow.items()}

    return solve


def comb(count, *, trunk=0.035, branch=0.0209):
    """A trunk of 6 m between branches of 5 m to one end each."""
    pipes = []
    for k in range(1, count + 1):
        pipes.append(pipe(f"T{k}", "V1" if k == 1 else f"J{k - 1}", f"J{k}", 6.0, trunk))
        pipes.append(pipe(f"B{k}", f"J{k}", f"H{k}", 5.0, branch))
    return pipes


def test_one_pipe_by_bernoulli():
    """P - k q^1.85 = f L/D rho v²/2 + rho (q/A)²/2, f by Colebrook in fluids, solved by bisection."""
    run, supply = pipe("P1", "V1", "H1", 30.0, 0.0266), SupplyCurve(static=4e5, factor=2.5e10, exponent=1.85)
    flow, flows = solver([run], supply)(["H1"])

    def left(q):
        v = q / (math.pi / 4 * run.bore**2)
        f = fluids.friction_factor(Re=v * run.bore / NU, eD=1.5e-6 / run.bore, Method="Colebrook")
        jet = q / (math.pi / 4 * RISER**2)
        return supply.pressure(q) - f * run.length / run.bore * RHO * v**2 / 2 - RHO * jet**2 / 2

    assert flow == pytest.approx(brentq(left, 1e-5, 2e-3), rel=2e-3)
    assert flows == pytest.approx({"P1": flow}, rel=1e-9)


@pytest.mark.parametrize("static", [1.5e5, 3e5, 5e5])
def test_a_further_end_draws_more_and_slows_the_others(static):
    pipes = comb(4)
    solve = solver(pipes, SupplyCurve(static=static, factor=5e10, exponent=1.85))
    states = [solve([f"H{k}" for k in range(1, count + 1)]) for count in range(1, 5)]
    assert [flow for flow, _ in states] == sorted(flow for flow, _ in states)
    first = [flows["B1"] for _, flows in states]
    assert first == sorted(first, reverse=True)


def washes(opened):
    return {run for run, speed in opened.velocity.items() if speed >= FLUSH_VELOCITY}


def partitions(ends):
    if not ends:
        yield []
        return
    first, *rest = ends
    for some in partitions(rest):
        yield [[first], *some]
        for i, group in enumerate(some):
            yield [*some[:i], [first, *group], *some[i + 1 :]]


@pytest.mark.parametrize("factor", [2e10, 5e10, 2e11, 6e11])
def test_no_partition_has_far_fewer_sets_and_none_goes_under_the_bound(factor):
    pipes, supply = comb(5, trunk=0.0266, branch=0.0266), SupplyCurve(static=4e5, factor=factor, exponent=1.85)
    solve, ways = solver(pipes, supply), ways_to_ends(pipes)
    order = open_in_turn(ways, solve)
    bores = {p.id: p.bore for p in pipes}

    def washed(ends):
        _, flows = solve(ends)
        runs = {p.id for end in ends for p in ways[end]}
        return {run for run in runs if flows[run] / (math.pi / 4 * bores[run] ** 2) >= FLUSH_VELOCITY}

    alone = {end: washed([end]) for end in ways}
    good = {
        group: set.union(*(alone[end] for end in group)) <= washed(group)
        for size in range(1, 6)
        for group in itertools.combinations(ways, size)
    }
    least = min(
        len(some) for some in partitions(list(ways)) if all(good[tuple(e for e in ways if e in g)] for g in some)
    )
    assert order.fewest <= least <= len(order.steps) <= least + 1
    assert sorted(end for step in order.steps for end in step.ends) == sorted(ways)
    assert all(set.union(*(alone[end] for end in step.ends)) <= washes(step) for step in order.steps)


def test_the_farthest_end_comes_last():
    pipes = comb(5)
    order = open_in_turn(ways_to_ends(pipes), solver(pipes, SupplyCurve(static=4e5, factor=2e11, exponent=1.85)))
    assert len(order.steps) > 1
    assert "H5" in order.steps[-1].ends
    assert "H1" in order.steps[0].ends


def test_a_trunk_too_wide_for_one_end_is_washed_through_all():
    """A bore of 63 mm wants 1.9 L/s: more than any one end passes, less than five do."""
    pipes = comb(5, trunk=0.063)
    solve = solver(pipes, SupplyCurve(static=4e5, factor=1e9, exponent=1.85))
    order = open_in_turn(ways_to_ends(pipes), solve)
    assert "T1" not in set().union(*({*step.velocity} for step in order.steps if len(step.ends) == 1 and washes(step)))
    assert sorted(order.steps[0].ends) == ["H1", "H2", "H3", "H4", "H5"]
    assert "T1" in washes(order.steps[0])


def test_a_supply_too_weak_for_any_end_opens_one_at_a_time():
    pipes = comb(2)
    order = open_in_turn(ways_to_ends(pipes), solver(pipes, SupplyCurve(static=1e4, factor=2e12, exponent=1.85)))
    assert [step.ends for step in order.steps] == [("H1",), ("H2",)]
    assert all(not washes(step) for step in order.steps)
    assert order.fewest == 2
