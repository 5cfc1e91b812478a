"""The network solver against pandapipes, against scipy's root on the full equations, and its properties."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import root

import pandapipes_apart
from networks_drawn import SOUND, STIFF, hard_network, networks, random_network, turbulent_networks
from rillwright.errors import InputError
from rillwright.model.network import Link, Network, Outlet
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve
from rillwright.physics import losses, water
from rillwright.physics.units import GRAVITY
from rillwright.solvers.network import solve_network


@pytest.mark.parametrize(("loops", "count"), [(0, 20), (1, 16), (3, 16)])
def test_against_pandapipes(loops, count):
    """Pressures to 0.1 % of the pressure drop, flows to 0.1 % each."""
    for network in turbulent_networks(loops=loops, count=count):
        state = solve_network(network)
        net = pandapipes_apart.build(network)
        pandapipes_apart.run(net)
        pressure = pandapipes_apart.pressures(net, network)
        drop = network.supply.static - pressure.min()
        assert list(state.pressure.values()) == pytest.approx(pressure, abs=1e-3 * drop)
        assert list(state.flow.values()) == pytest.approx(pandapipes_apart.flows(net, network), rel=1e-3)


def full_equations(network: Network):
    """Write out the equations anew, from the physics functions, in scaled unknowns: link flows, then heads."""
    nodes = list(network.elevation)
    place = {node: k for k, node in enumerate(nodes)}
    links, density = network.links, water.density(network.temperature)
    scale = 1e-4

    def link_loss(link: Link, q: float) -> float:
        loss = losses.fitting_pressure_loss(q, inside_diameter=link.bore, coefficient=link.minor, density=density)
        if link.length:
            loss += losses.darcy_pressure_loss(
                q, inside_diameter=link.bore, length=link.length, roughness=link.roughness, density=density
            )
        if link.device:
            loss += np.sign(q) * link.device.at(abs(q))
        return loss

    def errors(unknown):
        flows, pressure = unknown[: len(links)] * scale, unknown[len(links) :] * 1e5
        net = np.zeros(len(nodes))
        error = []
        for link, q in zip(links, flows, strict=True):
            a, b = place[link.start], place[link.end]
            net[a] -= q
            net[b] += q
            climb = density * GRAVITY * (network.elevation[link.end] - network.elevation[link.start])
            spare = pressure[a] - pressure[b] - climb - link_loss(link, q)
            error.append((spare if link.regulated_to is None else min(spare, link.regulated_to - pressure[b])) / 1e5)
        for node, outlet in network.outlets.items():
            net[place[node]] -= outlet.coefficient * max(pressure[place[node]], 0.0) ** outlet.exponent
        drawn = -net[place[network.source]]
        error += [q / scale for node, q in zip(nodes, net, strict=True) if node != network.source]
        return [*error, (network.supply.pressure(drawn) - pressure[place[network.source]]) / 1e5]

    return errors, nodes, scale


@pytest.mark.parametrize("loops", [0, 2])
@pytest.mark.parametrize("seed", range(30))
def test_against_root_of_the_full_equations(seed, loops):
    """Outlets, supply curve, device, heights: scipy, started away from the answer, finds the same."""
    check_against_root(random_network(1000 + seed, loops=loops, size=4 + seed % 9, slope=3.0), seed)


@pytest.mark.parametrize("seed", range(12))
def test_regulators_without_loss_against_root_of_the_full_equations(seed):
    """Their law is min(what comes through, set pressure); some hold, some stand open, some behind another."""
    network, rng = random_network(2000 + seed, loops=0, size=5 + seed % 6, slope=3.0), np.random.default_rng(seed)
    chosen = rng.choice(range(1, len(network.links)), 2, replace=False)
    links = [
        replace(link, length=0.0, minor=0.0, regulated_to=float(rng.uniform(0.5e5, 4e5))) if k in chosen else link
        for k, link in enumerate(network.links)
    ]
    check_against_root(replace(network, links=tuple(links)), seed)


def check_against_root(network: Network, seed: int) -> None:
    state = solve_network(network)
    errors, nodes, scale = full_equations(network)
    rng = np.random.default_rng(seed)
    start = np.array([state.flow[k.id] / scale for k in network.links] + [state.pressure[n] / 1e5 for n in nodes])
    start = start * rng.uniform(0.9, 1.1, len(start))
    found = root(errors, start, method="hybr", options={"xtol": 1e-12, "maxfev": 20000})
    if np.abs(found.fun).max() > 1e-6:
        found = root(errors, start, method="lm", options={"xtol": 1e-14, "ftol": 1e-14, "maxiter": 50000})
    assert np.abs(found.fun).max() < 1e-6, "the reference itself found no root"
    pressure = dict(zip(nodes, found.x[len(network.links) :] * 1e5, strict=True))
    for node in nodes:
        assert state.pressure[node] == pytest.approx(pressure[node], rel=1e-3, abs=5.0)
    for link, flow in zip(network.links, found.x[: len(network.links)] * scale, strict=True):
        assert state.flow[link.id] == pytest.approx(flow, rel=1e-3, abs=1e-7)
    for node, outlet in network.outlets.items():
        expected = outlet.coefficient * max(pressure[node], 0.0) ** outlet.exponent
        assert state.outlet_flow[node] == pytest.approx(expected, rel=1e-3)


@settings(max_examples=60)
@given(networks)
def test_mass_balances_and_every_law_holds(network):
    state = solve_network(network)
    net = dict.fromkeys(network.elevation, 0.0)
    for link in network.links:
        net[link.start] -= state.flow[link.id]
        net[link.end] += state.flow[link.id]
    net[network.source] += state.source_flow
    for node, flow in state.outlet_flow.items():
        net[node] -= flow
        law = network.outlets[node]
        assert flow == pytest.approx(
            law.coefficient * max(state.pressure[node], 0.0) ** law.exponent, rel=1e-5, abs=1e-9
        )
    assert max(abs(q) for q in net.values()) < 1e-12
    assert state.source_pressure == pytest.approx(network.supply.pressure(state.source_flow), abs=1.0)
    assert state.residual <= 0.01, "0.001 Pa, or 1e-14 m³/s where a loss is steep"
    assert (state.status == "outlets dry") == any(q == 0 for q in state.outlet_flow.values())


def test_hard_networks_converge_too():
    steps = []
    for seed in range(300):
        network = hard_network(seed)
        state = solve_network(network)
        steps.append(state.iterations)
        net = dict.fromkeys(network.elevation, 0.0) | {network.source: state.source_flow}
        for link in network.links:
            net[link.start] -= state.flow[link.id]
            net[link.end] += state.flow[link.id]
        for node, flow in state.outlet_flow.items():
            net[node] -= flow
            assert flow > 0 or (flow == 0 and state.pressure[node] <= 0.01)
        assert max(abs(q) for q in net.values()) < 1e-9
    assert np.median(steps) < 40


@settings(max_examples=40)
@given(networks, st.floats(1.01, 1.5))
def test_raising_the_static_pressure_raises_every_outlet(network, times):
    stronger = replace(network, supply=network.supply.model_copy(update={"static": network.supply.static * times}))
    weak, strong = solve_network(network), solve_network(stronger)
    for node, flow in weak.outlet_flow.items():
        assert strong.outlet_flow[node] > flow or (flow == 0 and strong.outlet_flow[node] >= 0)


@settings(max_examples=40)
@given(networks, st.integers(0, 100))
def test_two_half_lengths_equal_the_whole(network, pick):
    cut = network.links[1 + pick % (len(network.links) - 1)]
    half = {"length": cut.length / 2, "minor": cut.minor / 2}
    halves = (replace(cut, end="middle", **half), replace(cut, id="second half", start="middle", **half))
    others = tuple(k for k in network.links if k is not cut)
    split = replace(network, links=others + halves, elevation={**network.elevation, "middle": 0.0})
    whole, both = solve_network(network), solve_network(split)
    for node, pressure in whole.pressure.items():
        assert both.pressure[node] == pytest.approx(pressure, abs=0.05)


def test_parallel_pipes_share_by_symmetry():
    pair = tuple(Link(name, "entry", "head", length=10.0, bore=0.02) for name in ("left", "right"))
    state = solve_network(Network("entry", STIFF, {"entry": 0, "head": 0}, pair, {"head": Outlet(1e-6, 0.5)}))
    assert state.flow["left"] == pytest.approx(state.flow["right"], rel=1e-9)
    assert state.flow["left"] + state.flow["right"] == pytest.approx(state.outlet_flow["head"])


def test_laminar_drip_against_poiseuille():
    """dp = 128 mu L Q / (pi D⁴), exact."""
    net = Network(
        "entry",
        STIFF,
        {"entry": 0, "end": 0},
        (Link("tube", "entry", "end", length=50.0, bore=0.004),),
        {},
        {"end": 1e-6},
    )
    lost = STIFF.static - solve_network(net).pressure["end"]
    viscosity = water.dynamic_viscosity(288.15)
    assert lost == pytest.approx(128 * viscosity * 50.0 * 1e-6 / (np.pi * 0.004**4), rel=1e-9)


def test_outlets_up_the_hill_run_dry():
    """The supply lifts water 20.4 m at most: the head at 30 m gives exactly nothing, the one at 5 m runs."""
    links = (Link("up", "entry", "low", length=20.0), Link("further", "low", "high", length=20.0))
    heights = {"entry": 0.0, "low": 5.0, "high": 30.0}
    weak = SupplyCurve(static=2e5, factor=1e10, exponent=1.85)
    state = solve_network(Network("entry", weak, heights, links, {"low": Outlet(1e-6, 0.5), "high": Outlet(1e-6, 0.5)}))
    assert state.status == "outlets dry"
    assert state.outlet_flow["high"] == 0.0
    assert state.flow["further"] == pytest.approx(0.0, abs=1e-12)
    assert state.pressure["high"] == pytest.approx(
        state.pressure["low"] - water.density(288.15) * GRAVITY * 25.0, abs=0.01
    )
    alone = solve_network(Network("entry", weak, {"entry": 0.0, "low": 5.0}, links[:1], {"low": Outlet(1e-6, 0.5)}))
    assert state.outlet_flow["low"] == pytest.approx(alone.outlet_flow["low"], rel=1e-7)


def test_no_outlet_means_no_flow_and_static_pressure():
    state = solve_network(Network("entry", STIFF, {"entry": 0, "end": 2.0}, (Link("p", "entry", "end", length=9.0),)))
    assert state.source_flow == pytest.approx(0.0, abs=1e-12)
    assert state.pressure["end"] == pytest.approx(6e5 - water.density(288.15) * GRAVITY * 2.0, abs=0.01)
    assert solve_network(Network("entry", STIFF, {"entry": 0}, ())).pressure == {"entry": 6e5}


def test_device_shows_threshold_and_square():
    device = DeviceLoss(factor=4e9, threshold=2e4)
    net = Network(
        "entry", STIFF, {"entry": 0, "end": 0}, (Link("valve", "entry", "end", device=device),), {}, {"end": 1e-3}
    )
    assert STIFF.static - solve_network(net).pressure["end"] == pytest.approx(device.at(1e-3), abs=0.01)


def test_demand_beyond_the_supply_shows_as_negative_pressure():
    supply = SupplyCurve(static=3e5, factor=1e11, exponent=2.0)
    net = Network("entry", supply, {"entry": 0, "end": 0}, (Link("p", "entry", "end", length=5.0),), {}, {"end": 2e-3})
    state = solve_network(net)
    assert state.status == "negative pressure"
    assert state.source_pressure == pytest.approx(-1e5, abs=0.01)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"source": "meter"}, "source 'meter' is no node"),
        ({"elevation": {"entry": 0.0}}, "link 'p' ends at 'end'"),
        ({"elevation": {"entry": 0.0, "end": 0.0, "lost": 0.0}}, "no link joins 'lost' to the source"),
        ({"links": SOUND.links * 2}, "two links are named 'p'"),
        ({"links": (Link("p", "end", "end"),)}, "starts and ends at 'end'"),
        ({"links": (Link("p", "entry", "end", bore=0.0),)}, "needs a bore over 0"),
        ({"links": (Link("p", "entry", "end", length=float("nan")),)}, "needs a bore over 0"),
        ({"links": (Link("p", "entry", "end", device=DeviceLoss(-1.0)),)}, "must not gain pressure"),
        ({"outlets": {"tap": Outlet(1e-6, 0.5)}}, "at 'tap', which is no node"),
        ({"outlets": {"end": Outlet(1e-6, 0.0)}}, "outlet at 'end' needs a coefficient"),
        ({"demands": {"tap": 1e-3}}, "at 'tap', which is no node"),
        ({"supply": SupplyCurve(static=1e5, factor=-1.0, exponent=2.0)}, "supply needs a factor"),
        ({"temperature": 20.0}, "outside the range"),
        ({"elevation": {"entry": 0.0, "end": float("nan")}}, "elevation of 'end' is nan"),
        ({"demands": {"end": float("inf")}}, "demand at 'end' is inf"),
        ({"links": (Link("p", "entry", "end", bore=0.01, roughness=0.002),)}, "rougher than a tenth"),
    ],
)
def test_a_network_without_an_answer_is_refused(change, says):
    with pytest.raises(InputError, match=says):
        solve_network(replace(SOUND, **change))
