"""Many draws of a network at once: each is what a single solve gives."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings

import pandapipes_apart
from networks_drawn import SOUND, STIFF, networks, random_network, turbulent_networks
from rillwright.errors import InputError
from rillwright.model.network import Link, Network, Outlet
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve
from rillwright.physics import losses
from rillwright.solvers.network import Draws, prepare, solve_batch, solve_network


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


@settings(max_examples=20)
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
