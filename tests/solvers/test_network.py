"""The network solver against pandapipes, against scipy's root on the full equations, and its properties."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import root

import pandapipes_apart
from rillwright.errors import InputError
from rillwright.model.network import Link, Network, Outlet
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve
from rillwright.physics import losses, water
from rillwright.physics.units import GRAVITY
from rillwright.solvers.network import Draws, NetworkState, prepare, solve_batch, solve_network

BORES = (0.0158, 0.0209, 0.0266, 0.0350, 0.0409)
STIFF = SupplyCurve(static=6e5, factor=0.0, exponent=2.0)


def random_network(seed: int, *, loops: int, size: int, slope: float) -> Network:
    """Draw a branching network of invented pipes, some joined in loops, with outlets at most of its nodes."""
    rng = np.random.default_rng(seed)
    names, elevation, links, outlets = ["entry"], {"entry": 0.0}, [], {}
    for k in range(size):
        node, above = f"n{k}", names[rng.integers(min(k, max(1, len(names) - 5)), len(names))]
        names.append(node)
        elevation[node] = float(rng.uniform(-slope, slope))
        device = DeviceLoss(factor=float(rng.uniform(0, 1e10)), threshold=float(rng.uniform(0, 1.5e4)))
        links.append(
            Link(
                f"p{k}",
                above,
                node,
                length=0.0 if k == 0 else float(rng.uniform(0.5, 20)),
                bore=float(rng.choice(BORES[2:] if k < 3 else BORES)),
                minor=0.0 if k == 0 else float(rng.uniform(0, 3)),
                device=device if k == 0 else None,
            )
        )
        if rng.random() < 0.7 or k == size - 1:
            outlets[node] = Outlet(float(10 ** rng.uniform(-7.6, -6.8)), float(rng.uniform(0.4, 0.6)))
    for k in range(loops):
        a, b = rng.choice(size, 2, replace=False)
        links.append(Link(f"c{k}", f"n{a}", f"n{b}", length=float(rng.uniform(1, 20)), bore=0.0209))
    supply = SupplyCurve(static=float(rng.uniform(3e5, 6e5)), factor=float(10 ** rng.uniform(9, 10.5)), exponent=1.9)
    return Network("entry", supply, elevation, tuple(links), outlets)


def turbulent_networks(*, loops: int, count: int):
    """Draw networks under fixed demands; keep those in which every pipe is turbulent.

    pandapipes uses Colebrook-White at every Reynolds number: below 4000 it would rest on another law than ours.
    """
    rng = np.random.default_rng(loops)
    while count:
        drawn = random_network(int(rng.integers(10**6)), loops=loops, size=int(rng.integers(4, 25)), slope=4.0)
        links = tuple(replace(k, device=None, length=max(k.length, 1.0)) for k in drawn.links)
        demands = {f"n{k}": float(rng.uniform(1.6e-4, 2.5e-4)) for k in range(len(drawn.elevation) - 1)}
        network = replace(drawn, links=links, supply=STIFF, outlets={}, demands=demands)
        state = solve_network(network)
        if min(reynolds(k, state) for k in links) > 4000:
            count -= 1
            yield network


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


def reynolds(link: Link, state: NetworkState) -> float:
    return 4 * abs(state.flow[link.id]) / (np.pi * link.bore * losses.VISCOSITY)


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
            error.append((pressure[a] - pressure[b] - climb - link_loss(link, q)) / 1e5)
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
    network = random_network(1000 + seed, loops=loops, size=4 + seed % 9, slope=3.0)
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


networks = st.builds(
    random_network,
    st.integers(0, 10**6),
    loops=st.integers(0, 5),
    size=st.integers(6, 60),
    slope=st.sampled_from([0.5, 5.0, 40.0]),
)


@settings(deadline=None, max_examples=60)
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


def hard_network(seed: int) -> Network:
    """Draw what no yard has: hair-thin and free pipes, backward links, free loops, dead supplies, any outlet."""
    rng = np.random.default_rng(seed)
    names, elevation, links, outlets, slope = ["entry"], {"entry": 0.0}, [], {}, rng.choice([0.0, 1.0, 10.0, 60.0])
    for k in range(int(rng.integers(1, 60))):
        node, above = f"n{k}", names[rng.integers(max(0, len(names) - 6), len(names))]
        names.append(node)
        elevation[node] = float(rng.uniform(-slope, slope))
        device = DeviceLoss(float(rng.choice([0.0, 1e6, 1e11])), float(rng.choice([0.0, 8e4])))
        links.append(
            Link(
                f"p{k}",
                *((above, node) if rng.random() < 0.8 else (node, above)),
                length=0.0 if rng.random() < 0.2 else float(10 ** rng.uniform(-3, 2.5)),
                bore=float(rng.choice([0.004, 0.016, 0.027, 0.1])),
                roughness=float(rng.choice([0.0, 1.5e-6, 4e-5])),
                minor=float(rng.choice([0.0, 0.0, 1.0, 30.0])),
                device=device if rng.random() < 0.15 else None,
            )
        )
        if rng.random() < 0.4:
            exponent = float(rng.uniform(0.1, 1.0))
            outlets[node] = Outlet(float(10 ** rng.uniform(-6, -3) / 3e5**exponent), exponent)
    for k in range(int(rng.integers(0, 8))):
        a, b = rng.choice(names, 2)
        if a != b:
            links.append(Link(f"c{k}", str(a), str(b), float(rng.choice([0.0, 1.0, 20.0])), 0.021))
    static, factor = float(rng.choice([-1e4, 0.0, 2e4, 5e5, 2e6])), float(rng.choice([0.0, 1e6, 1e10, 1e12]))
    supply = SupplyCurve(static=static, factor=factor, exponent=float(rng.uniform(1, 2)))
    return Network("entry", supply, elevation, tuple(links), outlets)


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


@settings(deadline=None, max_examples=40)
@given(networks, st.floats(1.01, 1.5))
def test_raising_the_static_pressure_raises_every_outlet(network, times):
    stronger = replace(network, supply=network.supply.model_copy(update={"static": network.supply.static * times}))
    weak, strong = solve_network(network), solve_network(stronger)
    for node, flow in weak.outlet_flow.items():
        assert strong.outlet_flow[node] > flow or (flow == 0 and strong.outlet_flow[node] >= 0)


@settings(deadline=None, max_examples=40)
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


SOUND = Network("entry", STIFF, {"entry": 0.0, "end": 0.0}, (Link("p", "entry", "end", length=5.0),))


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


def spread(prepared, *, count, seed) -> Draws:
    """Draw every value of a prepared network that a draw may change."""
    rng = np.random.default_rng(seed)

    def around(values, share):
        return values * rng.uniform(1 - share, 1 + share, (count, *np.shape(values)))

    supply = prepared.network.supply
    return Draws(
        count=count,
        static=around(supply.static, 0.2),
        supply_factor=around(supply.factor, 0.3),
        supply_exponent=around(supply.exponent, 0.05),
        temperature=rng.uniform(276.0, 300.0, count),
        elevation=prepared.elevation + rng.normal(0, 0.3, (count, len(prepared.nodes))),
        demand=rng.choice([0.0, 1e-5], (count, len(prepared.nodes))),
        roughness=around(prepared.roughness, 0.9),
        minor=around(prepared.minor, 0.3),
        device_factor=around(prepared.device_factor, 0.2),
        device_threshold=around(prepared.device_threshold, 0.2),
        coefficient=around(prepared.coefficient, 0.1),
    )


def drawn(prepared, draws: Draws, row: int) -> Network:
    """Write one draw out as a network of its own."""
    network = prepared.network
    devices = map(DeviceLoss, draws.device_factor[row], draws.device_threshold[row])
    return replace(
        network,
        supply=SupplyCurve(
            static=draws.static[row], factor=draws.supply_factor[row], exponent=draws.supply_exponent[row]
        ),
        temperature=draws.temperature[row],
        elevation=dict(zip(prepared.nodes, draws.elevation[row], strict=True)),
        demands=dict(zip(prepared.nodes, draws.demand[row], strict=True)),
        links=tuple(
            replace(link, roughness=roughness, minor=minor, device=device)
            for link, roughness, minor, device in zip(
                network.links, draws.roughness[row], draws.minor[row], devices, strict=True
            )
        ),
        outlets={
            node: replace(outlet, coefficient=c)
            for (node, outlet), c in zip(network.outlets.items(), draws.coefficient[row], strict=True)
        },
    )


@settings(deadline=None, max_examples=20)
@given(networks)
def test_a_batch_gives_what_single_solves_give(network):
    prepared = prepare(network)
    draws = spread(prepared, count=4, seed=len(network.links))
    batch = solve_batch(prepared, draws)
    for row in range(draws.count):
        single = solve_network(drawn(prepared, draws, row))
        assert batch.status[row] == single.status
        assert batch.source_flow[row] == pytest.approx(single.source_flow, rel=1e-6, abs=1e-12)
        assert batch.source_pressure[row] == pytest.approx(single.source_pressure, abs=0.05)
        for got, expected, allowed in (
            (batch.pressure, single.pressure, 0.05),
            (batch.flow, single.flow, 1e-9),
            (batch.outlet_flow, single.outlet_flow, 1e-9),
        ):
            assert got[row] == pytest.approx(np.array(list(expected.values())), abs=allowed)


def test_a_batch_without_drawn_values_repeats_the_network():
    network = random_network(3, loops=1, size=20, slope=3.0)
    batch, single = solve_batch(prepare(network), Draws(count=2)), solve_network(network)
    for row in range(2):
        assert batch.pressure[row] == pytest.approx(np.array(list(single.pressure.values())), abs=0.01)


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"count": 0}, "at least one draw"),
        ({"static": np.full(3, 4e5)}, r"'static' .* shape \(3,\): give \(2,\)"),
        ({"roughness": np.full((2, 7), 1e-6)}, r"'roughness' .* shape \(2, 7\): give \(2, 1\)"),
        ({"roughness": np.full((2, 1), -1e-6)}, r"holds -1e-06 at \[0, 0\]: give at least 0"),
        ({"roughness": np.full((2, 1), 0.01)}, "over a tenth of a bore"),
        ({"static": np.array([4e5, np.nan])}, r"'static' .* nan at \[1\]: give a number"),
        ({"temperature": np.array([288.0, 20.0])}, "outside the range"),
    ],
)
def test_draws_that_fit_no_network_are_refused(fields, says):
    with pytest.raises(InputError, match=says):
        solve_batch(prepare(SOUND), Draws(**{"count": 2, **fields}))


def test_a_batch_with_loops_against_pandapipes():
    """Each draw of demands and roughness, solved by pandapipes as a network of its own."""
    rng = np.random.default_rng(5)
    for network in turbulent_networks(loops=3, count=4):
        prepared = prepare(network)
        draws = Draws(
            count=5,
            demand=prepared.demand * rng.uniform(1.0, 1.5, (5, 1)),
            roughness=prepared.roughness * rng.uniform(1, 20, (5, len(prepared.links))),
        )
        batch = solve_batch(prepared, draws)
        for row in range(draws.count):
            links = tuple(replace(k, roughness=e) for k, e in zip(network.links, draws.roughness[row], strict=True))
            demands = dict(zip(prepared.nodes, draws.demand[row], strict=True))
            single = replace(network, links=links, demands=demands)
            net = pandapipes_apart.build(single)
            pandapipes_apart.run(net)
            pressure = pandapipes_apart.pressures(net, single)
            drop = network.supply.static - pressure.min()
            assert batch.pressure[row] == pytest.approx(pressure, abs=1e-3 * drop)
            assert batch.flow[row] == pytest.approx(pandapipes_apart.flows(net, single), rel=1e-3, abs=1e-9)


def test_outlets_run_dry_in_some_draws_only():
    """At 2 bar the head 30 m up gives nothing, at 4 bar it runs; the draws do not disturb each other."""
    links = (Link("up", "entry", "low", length=20.0), Link("further", "low", "high", length=20.0))
    heights = {"entry": 0.0, "low": 5.0, "high": 30.0}
    network = Network("entry", STIFF, heights, links, {"low": Outlet(1e-6, 0.5), "high": Outlet(1e-6, 0.5)})
    batch = solve_batch(prepare(network), Draws(count=4, static=np.array([2e5, 4e5, 2e5, 4e5])))
    assert batch.status.tolist() == ["outlets dry", "runs"] * 2
    assert (batch.outlet_flow[[0, 2], 1] == 0).all()
    assert (batch.outlet_flow[[1, 3], 1] > 1e-5).all()
    assert (batch.pressure[[0, 1]] == batch.pressure[[2, 3]]).all()


@pytest.mark.parametrize("roughness", [0.0, 1.5e-6, 4.5e-5, 1e-3])
def test_friction_is_that_of_the_physics(roughness):
    """Laminar, between, turbulent: the compiled law against physics.losses, over Reynolds numbers 10 to 1e7."""
    pipe = Link("p", "entry", "end", length=5.0, bore=0.02, roughness=roughness)
    flow = np.logspace(1, 7, 400) * losses.VISCOSITY * np.pi * 0.02 / 4
    free = Network("entry", SupplyCurve(static=0.0, factor=0.0, exponent=2.0), {"entry": 0, "end": 0}, (pipe,))
    demand = np.stack([np.zeros_like(flow), flow], axis=1)
    lost = -solve_batch(prepare(free), Draws(count=len(flow), demand=demand)).pressure[:, 1]
    expected = losses.darcy_pressure_loss(flow, inside_diameter=0.02, length=5.0, roughness=roughness)
    assert lost == pytest.approx(expected, rel=1e-10)
