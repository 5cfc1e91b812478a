"""Regulators, regulated outlets and pumps in the network solver, against one unknown solved by brentq."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from rillwright.errors import InputError
from rillwright.model.network import Link, Network, Outlet, PumpCurve
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve
from rillwright.physics import water
from rillwright.physics.losses import darcy_pressure_loss
from rillwright.physics.units import GRAVITY
from rillwright.solvers.network import Draws, prepare, solve_batch, solve_network

SUPPLY = SupplyCurve(static=6e5, factor=8e10, exponent=1.85)
PIPE = {"length": 25.0, "bore": 0.0209}
NOZZLE = Outlet(5e-4 / 3e5**0.5, 0.5)
PUMP = PumpCurve(shutoff=2.5e5, factor=1e11, exponent=1.9)
RISE = 4.0  # [m] from the entry to the nozzle
WEIGHT = water.density() * GRAVITY


def line(*links: Link, outlet: Outlet = NOZZLE, supply: SupplyCurve = SUPPLY) -> Network:
    """String links from 'entry'; the last ends at the nozzle, which alone stands higher."""
    elevation = {node: 0.0 for link in links for node in (link.start, link.end)}
    end = links[-1].end
    return Network("entry", supply, {**elevation, end: RISE}, links, {end: outlet})


def nozzle_flow(pressure_at, outlet: Outlet = NOZZLE) -> float:
    """Find the flow at which the nozzle's pressure drives just that flow."""

    def excess(flow: float) -> float:
        seen = min(max(pressure_at(flow), 0.0), outlet.regulated_to or np.inf)
        return outlet.coefficient * seen**outlet.exponent - flow

    return brentq(excess, 0.0, 1e-2, xtol=1e-16, rtol=1e-14)


@pytest.mark.parametrize("static", [1e5, 2.5e5, 4e5, 8e5])
def test_a_regulated_outlet_sees_no_more_than_its_set_pressure(static):
    outlet, supply = replace(NOZZLE, regulated_to=2e5), SUPPLY.model_copy(update={"static": static})
    state = solve_network(line(Link("pipe", "entry", "head", **PIPE), outlet=outlet, supply=supply))
    flow = nozzle_flow(
        lambda q: (
            supply.pressure(q)
            - darcy_pressure_loss(q, inside_diameter=0.0209, length=25.0, roughness=1.5e-6)
            - WEIGHT * RISE
        ),
        outlet,
    )
    assert state.outlet_flow["head"] == pytest.approx(flow, rel=1e-6)
    if static == 8e5:
        assert flow == pytest.approx(outlet.coefficient * 2e5**0.5)
        assert state.pressure["head"] > 3e5


def regulated(set_pressure: float, **change) -> Network:
    return line(
        Link("pipe", "entry", "valve", **PIPE),
        Link("regulator", "valve", "after", device=DeviceLoss(factor=5e10, threshold=1e4), regulated_to=set_pressure),
        Link("lateral", "after", "head", **PIPE),
        **change,
    )


def regulated_flow(set_pressure: float, supply: SupplyCurve = SUPPLY) -> float:
    def pressure_at(flow: float) -> float:
        pipe = darcy_pressure_loss(flow, inside_diameter=0.0209, length=25.0, roughness=1.5e-6)
        after = min(supply.pressure(flow) - pipe - DeviceLoss(5e10, 1e4).at(flow), set_pressure)
        return after - pipe - WEIGHT * RISE

    return nozzle_flow(pressure_at)


@pytest.mark.parametrize("set_pressure", [5e4, 1.5e5, 3e5, 5.9e5])
def test_a_regulator_holds_its_set_pressure_or_stands_open(set_pressure):
    state = solve_network(regulated(set_pressure))
    flow = regulated_flow(set_pressure)
    assert state.flow["regulator"] == pytest.approx(flow, rel=1e-6)
    assert state.outlet_flow["head"] == pytest.approx(flow, rel=1e-6)
    if set_pressure <= 3e5:
        assert state.pressure["after"] == pytest.approx(set_pressure, abs=0.01)
    else:
        assert 3e5 < state.pressure["after"] < set_pressure
    assert state.source_pressure == pytest.approx(SUPPLY.pressure(state.source_flow), abs=0.1)


@pytest.mark.parametrize("set_pressure", [5e4, 1e5, 1.5e5, 2e5, 2.5e5, 3e5])
@pytest.mark.parametrize("exponent", [1.5, 1.85, 2.0])
def test_the_supply_gives_what_passes_a_regulator_that_loses_nothing(set_pressure, exponent):
    supply = SUPPLY.model_copy(update={"exponent": exponent})
    regulator = Link("regulator", "entry", "after", regulated_to=set_pressure)
    state = solve_network(line(regulator, Link("lateral", "after", "head", **PIPE), supply=supply))
    assert state.source_flow == pytest.approx(state.flow["regulator"], rel=1e-6)
    assert state.source_pressure == pytest.approx(supply.pressure(state.flow["regulator"]), abs=0.1)


def test_a_regulator_in_a_batch_holds_in_some_draws_and_stands_open_in_others():
    static = np.linspace(0.5e5, 7e5, 14)
    prepared = prepare(regulated(3e5))
    batch = solve_batch(prepared, Draws(count=14, static=static))
    after = prepared.nodes.index("after")
    for row, value in enumerate(static):
        flow = regulated_flow(3e5, SUPPLY.model_copy(update={"static": value}))
        assert batch.flow[row, 1] == pytest.approx(flow, rel=1e-6, abs=1e-12)
    held = np.abs(batch.pressure[:, after] - 3e5) < 0.01
    assert 2 < held.sum() < 12
    assert (batch.pressure[:, after] < 3e5 + 0.01).all()


def test_a_regulator_with_nothing_drawn_behind_it_locks_up_at_its_set_pressure():
    shut = replace(regulated(2e5), outlets={})
    state = solve_network(shut)
    assert state.pressure["after"] == pytest.approx(2e5, abs=0.01)
    assert state.pressure["head"] == pytest.approx(2e5 - WEIGHT * RISE, abs=0.01)
    assert state.pressure["valve"] == pytest.approx(6e5, abs=0.01)
    low = solve_network(replace(shut, supply=SUPPLY.model_copy(update={"static": 1.5e5})))
    assert low.pressure["after"] == pytest.approx(1.5e5, abs=0.01)


@pytest.mark.parametrize(("first", "second"), [(3.5e5, 1.5e5), (1.5e5, 3.5e5), (2e5, 2e5)])
def test_of_two_regulators_in_a_row_the_lower_rules(first, second):
    def both(first: float, second: float) -> Network:
        return line(
            Link("one", "entry", "a", regulated_to=first),
            Link("pipe", "a", "b", length=1.0, bore=0.1),
            Link("two", "b", "c", regulated_to=second),
            Link("lateral", "c", "head", **PIPE),
        )

    state = solve_network(both(first, second))
    flow = nozzle_flow(
        lambda q: (
            min(first - darcy_pressure_loss(q, inside_diameter=0.1, length=1.0, roughness=1.5e-6), second)
            - darcy_pressure_loss(q, inside_diameter=0.0209, length=25.0, roughness=1.5e-6)
            - WEIGHT * RISE
        )
    )
    assert state.outlet_flow["head"] == pytest.approx(flow, rel=1e-6)
    assert state.pressure["a"] == pytest.approx(first, abs=0.01)


def test_a_booster_adds_its_curve():
    supply = SUPPLY.model_copy(update={"static": 1.5e5})
    network = line(Link("pump", "entry", "after", pump=PUMP), Link("lateral", "after", "head", **PIPE), supply=supply)
    state = solve_network(network)
    flow = nozzle_flow(
        lambda q: (
            supply.pressure(q)
            + 2.5e5
            - 1e11 * q**1.9
            - darcy_pressure_loss(q, inside_diameter=0.0209, length=25.0, roughness=1.5e-6)
            - WEIGHT * RISE
        )
    )
    assert state.flow["pump"] == pytest.approx(flow, rel=1e-6)
    gain = state.pressure["after"] - state.pressure["entry"]
    assert gain == pytest.approx(2.5e5 - 1e11 * flow**1.9, abs=0.1)


def test_a_weak_pump_beside_a_strong_one_runs_nothing_back():
    weak = PumpCurve(shutoff=5e4, factor=1e11, exponent=1.9)
    pair = (Link("strong", "entry", "after", pump=PUMP), Link("weak", "entry", "after", pump=weak))
    state = solve_network(line(*pair, Link("lateral", "after", "head", **PIPE)))
    alone = solve_network(line(pair[0], Link("lateral", "after", "head", **PIPE)))
    assert state.flow["weak"] == pytest.approx(0.0, abs=1e-10)
    assert state.outlet_flow["head"] == pytest.approx(alone.outlet_flow["head"], rel=1e-6)


def test_a_pump_lifts_a_supply_of_no_pressure():
    """A cistern at the entry: all the pressure is the pump's."""
    cistern = SupplyCurve(static=0.0, factor=0.0, exponent=2.0)
    network = line(Link("pump", "entry", "after", pump=PUMP), Link("lateral", "after", "head", **PIPE), supply=cistern)
    assert solve_network(network).outlet_flow["head"] > 1e-4


LOOPED = Network(
    "entry",
    SUPPLY,
    {"entry": 0.0, "a": 0.0, "b": 0.0},
    (Link("p", "entry", "a", 5.0), Link("r", "a", "b", regulated_to=2e5), Link("s", "entry", "b", 5.0)),
)


@pytest.mark.parametrize(
    ("network", "says"),
    [
        (LOOPED, "regulator 'r' lies in a loop"),
        (replace(LOOPED, links=(LOOPED.links[0], Link("r", "b", "a", regulated_to=2e5))), "points at the source"),
        (regulated(-1.0), "'regulator' must be regulated to a pressure over 0"),
        (
            line(Link("p", "entry", "end"), outlet=replace(NOZZLE, regulated_to=0.0)),
            "outlet at 'end' must be regulated",
        ),
        (line(Link("p", "entry", "end", pump=PumpCurve(0.0, 1e9, 2.0))), "pump in link 'p' needs a gain"),
    ],
)
def test_devices_without_an_answer_are_refused(network, says):
    with pytest.raises(InputError, match=says):
        solve_network(network)


def random_yard(seed: int) -> Network:
    """Draw a branching network with pumps, regulators and regulated outlets wherever they may stand; none is a yard."""
    rng = np.random.default_rng(seed)
    names, links, outlets = ["entry"], [], {}
    for k in range(int(rng.integers(3, 40))):
        above = names[rng.integers(max(0, len(names) - 5), len(names))]
        names.append(f"n{k}")
        curve = PumpCurve(float(10 ** rng.uniform(4, 5.5)), float(10 ** rng.uniform(8, 11)), float(rng.uniform(1, 3)))
        links.append(
            Link(
                f"p{k}",
                above,
                f"n{k}",
                length=float(rng.uniform(0, 30)),
                bore=float(rng.choice([0.0158, 0.0266, 0.05])),
                device=DeviceLoss(0.0, 2e4) if rng.random() < 0.1 else None,
                pump=curve if rng.random() < 0.1 else None,
                regulated_to=float(10 ** rng.uniform(4.5, 6)) if rng.random() < 0.15 else None,
            )
        )
        if rng.random() < 0.6:
            held = float(10 ** rng.uniform(4.5, 6)) if rng.random() < 0.5 else None
            outlets[f"n{k}"] = Outlet(float(10 ** rng.uniform(-7.5, -6.5)), float(rng.uniform(0.4, 0.6)), held)
    elevation = {name: float(rng.uniform(-8, 8)) for name in names}
    supply = SupplyCurve(static=float(rng.uniform(1e5, 8e5)), factor=float(10 ** rng.uniform(8, 10.5)), exponent=1.85)
    return Network("entry", supply, elevation, tuple(links), outlets)


def link_drop(link: Link, flow: float) -> float:
    """Loss less gain of a link, from the physics functions."""
    drop = darcy_pressure_loss(flow, inside_diameter=link.bore, length=link.length, roughness=link.roughness)
    if link.device:
        drop += link.device.at(flow)
    if link.pump:
        drop -= link.pump.shutoff - link.pump.factor * flow**link.pump.exponent
    return drop


def without_loss(network: Network) -> Network:
    """Take the loss of its regulators away."""
    free = {"length": 0.0, "device": None, "pump": None}
    return replace(network, links=tuple(replace(k, **free) if k.regulated_to else k for k in network.links))


@pytest.mark.parametrize("form", [replace, without_loss])
@pytest.mark.parametrize("seed", range(60))
def test_every_law_holds_in_networks_of_devices(seed, form):
    """Mass, outlet laws and every link's drop, regulators either at their set pressure or open, written out anew."""
    network = form(random_yard(seed))
    state = solve_network(network)
    assert state.source_pressure == pytest.approx(network.supply.pressure(state.source_flow), abs=0.5)
    net = dict.fromkeys(network.elevation, 0.0) | {"entry": state.source_flow}
    for node, law in network.outlets.items():
        seen = min(max(state.pressure[node], 0.0), law.regulated_to or np.inf)
        assert state.outlet_flow[node] == pytest.approx(law.coefficient * seen**law.exponent, rel=1e-5, abs=1e-9)
        net[node] -= state.outlet_flow[node]
    for link in network.links:
        flow = state.flow[link.id]
        net[link.start] -= flow
        net[link.end] += flow
        assert flow > -1e-10
        if flow < 1e-6:
            continue  # a threshold has not opened yet
        start, end = state.pressure[link.start], state.pressure[link.end]
        climb = WEIGHT * (network.elevation[link.end] - network.elevation[link.start])
        spare = start - end - climb - link_drop(link, flow)
        if link.regulated_to is None:
            assert spare == pytest.approx(0.0, abs=0.5)
        else:
            assert min(spare, link.regulated_to - end) == pytest.approx(0.0, abs=0.5)
    assert max(abs(q) for q in net.values()) < 1e-10


@pytest.mark.parametrize("seed", range(30))
def test_a_draw_of_settings_is_the_network_with_those_settings(seed):
    """Regulators on links, one behind another too, and in heads: each draw against a network of its own."""
    network, dice = random_yard(seed), np.random.default_rng(seed + 1000)
    prepared = prepare(network)
    links, outlets = dice.uniform(0.8, 1.2, (3, len(network.links))), dice.uniform(0.8, 1.2, (3, len(network.outlets)))
    batch = solve_batch(prepared, Draws(count=3, link_setting=links, outlet_setting=outlets))
    for k in range(3):
        own = replace(
            network,
            links=tuple(
                replace(link, regulated_to=link.regulated_to and link.regulated_to * f)
                for link, f in zip(network.links, links[k], strict=True)
            ),
            outlets={
                node: replace(law, regulated_to=law.regulated_to and law.regulated_to * f)
                for (node, law), f in zip(network.outlets.items(), outlets[k], strict=True)
            },
        )
        single = solve_network(own)
        assert batch.outlet_flow[k] == pytest.approx(list(single.outlet_flow.values()), rel=1e-6, abs=1e-10)
        assert batch.pressure[k] == pytest.approx(list(single.pressure.values()), rel=1e-6, abs=0.1)
