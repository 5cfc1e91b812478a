"""A planned zone as a network and back: against a hand-written pressure balance, and the promises of its steps."""

import fluids
import numpy as np
import pytest
from scipy.optimize import brentq

from rillwright.errors import InputError
from rillwright.model.catalogue import flow_at, load_catalogue
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import Head, Node, Pipe, SupplyCurve, ValvePlace
from rillwright.model.site import BACKFLOW_KINDS, Yard
from rillwright.physics import losses
from rillwright.physics.units import GRAVITY
from rillwright.solvers.devices import ZoneDevice, zone_devices
from rillwright.solvers.fittings import minor_losses, riser_loss
from rillwright.solvers.hydraulics import solve_zone
from rillwright.solvers.zone_network import zone_network

SUPPLY = SupplyCurve(static=4.5e5, factor=6e9, exponent=1.852)
CATALOGUE = load_catalogue()


def yard(**changes) -> Yard:
    """Make an invented yard: only its rules, units and water entry count here."""
    facts = {
        "name": "invented",
        "units": "US",
        "areas": [{"id": "lawn", "kind": "lawn", "outline": [(0, 0), (40, 0), (40, 30), (0, 30)]}],
        "water_entry": {"at": (0, 0), "height": 0.5, "pipe": {"material": "PE", "size": "1 in", "length": 20}},
        "controller": {"stations": 6},
        "backflow": {"allowed": list(BACKFLOW_KINDS)},
    }
    return Yard.model_validate(facts | changes)


def head(name: str, *, at=(0.0, 0.0), ground=0.0, nozzle="spray 12 ft", arc=180.0, flow=7e-5) -> Head:
    return Head(
        id=name,
        lawn="lawn",
        at=at,
        ground=ground,
        head_class=CATALOGUE.nozzles[nozzle].head_class,
        nozzle=nozzle,
        arc_start=0.0,
        arc=arc,
        radius_share=1.0,
        radius=3.6,
        flow=flow,
        pressure=2e5,
        hydrozone="turf",
    )


def pipe(name: str, start: str, end: str, *, path, zone=None, size="1 in", length=None) -> Pipe:
    material = "PE"
    bore = next(p.inside_diameter for p in CATALOGUE.pipes if (p.material, p.trade_size) == (material, size))
    drawn = float(np.linalg.norm(np.diff(np.array(path), axis=0), axis=1).sum())
    return Pipe(
        id=name,
        role="lateral" if zone else "main",
        zone=zone,
        start=start,
        end=end,
        path=path,
        length=drawn if length is None else length,
        material=material,
        size=size,
        bore=bore,
        flow=0.0,
        velocity=0.0,
        loss=0.0,
    )


def place(kind="double check", device_height=None, name="V1") -> ValvePlace:
    return ValvePlace(
        id=name, at=(10, 0), ground=0.0, backflow=kind, device_height=device_height, highest_outlet=0.0, zones=("Z1",)
    )


def nodes_of(pipes, ground=None) -> dict[str, Node]:
    found = {}
    for p in pipes:
        for name, at in ((p.start, p.path[0]), (p.end, p.path[-1])):
            found[name] = Node(id=name, at=at, ground=(ground or {}).get(name, 0.0))
    return found


MAIN = pipe("M1", "entry", "V1", path=((0, 0), (10, 0)))
ALONE = pipe("Z1.1", "V1", "H1", path=((10, 0), (30, 0)), zone="Z1", size="3/4 in")


def solve(heads, pipes, *, at=None, ground=None, yard_=None, supply=SUPPLY, **named):
    minor = minor_losses(pipes)
    return solve_zone(
        heads,
        zone="Z1",
        pipes=pipes,
        nodes=nodes_of(pipes, ground),
        entry="entry",
        place=at or place(),
        yard=yard_ or yard(),
        catalogue=CATALOGUE,
        supply=supply,
        minor=minor,
        **named,
    )


@pytest.mark.parametrize("kind", BACKFLOW_KINDS)
@pytest.mark.parametrize("ground", [-6.0, 0.0, 8.0])
@pytest.mark.parametrize("nozzle", ["spray 12 ft", "spray 15 ft"])
def test_one_head_against_a_pressure_balance(kind, ground, nozzle):
    """Supply - devices - main - lateral - riser - height = head pressure, q by the chart's law: one unknown, brentq."""
    it = head("H1", ground=ground, nozzle=nozzle, arc=360.0)
    minor = minor_losses([MAIN, ALONE])
    devices = zone_devices(kind, yard=yard(), catalogue=CATALOGUE, flow=it.flow)

    def surplus(pressure: float) -> float:
        flow = flow_at(CATALOGUE.nozzles[nozzle], pressure, 360.0)
        lost = sum(d.loss.at(flow) for d in devices) + riser_loss(flow, head_class=it.head_class)
        for run in (MAIN, ALONE):
            lost += losses.darcy_pressure_loss(flow, inside_diameter=run.bore, length=run.length, roughness=1.5e-6)
            lost += losses.fitting_pressure_loss(flow, inside_diameter=run.bore, coefficient=minor[run.id])
        rise = ground + 0.10 - 0.5
        return SUPPLY.pressure(flow) - lost - losses.DENSITY * GRAVITY * rise - pressure

    expected = brentq(surplus, 1.0, 8e5)
    found = solve([it], [MAIN, ALONE], at=place(kind, 0.45), ground={"H1": ground})
    assert found.pressure_low == found.pressure_high == pytest.approx(expected, rel=1e-6)
    assert found.flow == pytest.approx(flow_at(CATALOGUE.nozzles[nozzle], expected, 360.0), rel=1e-6)
    assert found.entry_pressure == pytest.approx(SUPPLY.pressure(found.flow), abs=0.01)
    assert found.worst_head == "H1"
    assert found.flow_spread == 0.0


@pytest.mark.parametrize("celsius", [4.0, 15.0, 20.0, 30.0])
def test_water_is_as_thick_and_heavy_as_its_temperature_says(celsius):
    """Printed density and viscosity (Handbook of Chemistry and Physics, from memory), friction by `fluids`."""
    rho, mu = {4: (999.97, 1.567e-3), 15: (999.10, 1.138e-3), 20: (998.21, 1.002e-3), 30: (995.65, 0.797e-3)}[celsius]
    it = head("H1", ground=2.0, arc=360.0)
    own = yard()
    own = own.model_copy(update={"water_entry": own.water_entry.model_copy(update={"temperature": celsius + 273.15})})
    found = solve([it], [MAIN, ALONE], ground={"H1": 2.0}, yard_=own)
    step = next(step for step in found.steps if step.label.startswith("lateral"))
    speed = found.flow / (np.pi / 4 * ALONE.bore**2)
    reynolds = speed * ALONE.bore * rho / mu
    factor = fluids.friction_factor(reynolds, eD=1.5e-6 / ALONE.bore)
    minor = minor_losses([MAIN, ALONE])["Z1.1"]
    expected = (factor * ALONE.length / ALONE.bore + minor) * rho * speed**2 / 2
    assert step.pressure == pytest.approx(expected, rel=2e-3)
    assert found.steps[-1].pressure == pytest.approx(rho * GRAVITY * 1.6, rel=1e-4)


def branching():
    """Main of two runs with a place between; at V2 a lateral forks, one branch passing a head on its way."""
    pipes = [
        MAIN,
        pipe("M2", "V1", "V2", path=((10, 0), (20, 0), (20, 5))),
        pipe("Z1.1", "V2", "J1", path=((20, 5), (25, 5)), zone="Z1"),
        pipe("Z1.2", "J1", "H1", path=((25, 5), (35, 5)), zone="Z1", size="3/4 in"),
        pipe("Z1.3", "H1", "H2", path=((35, 5), (45, 5)), zone="Z1", size="3/4 in"),
        pipe("Z1.4", "J1", "H3", path=((25, 5), (25, 15)), zone="Z1", size="1/2 in"),
        pipe("Z2.1", "V1", "J1", path=((10, 0), (25, 5)), zone="Z2"),
        pipe("Z2.2", "J1", "H9", path=((25, 5), (25, -5)), zone="Z2"),
    ]
    heights = {"H1": 1.0, "H2": 2.0, "H3": -1.0}
    heads = [head(name, ground=z, arc=360.0) for name, z in heights.items()]
    return heads, pipes, heights


@pytest.mark.parametrize("kind", BACKFLOW_KINDS)
@pytest.mark.parametrize("units", ["US", "metric"])
def test_steps_add_up_from_entry_to_worst_head(kind, units):
    heads, pipes, heights = branching()
    found = solve(heads, pipes, at=place(kind, 0.45, "V2"), ground=heights, yard_=yard(units=units))
    assert sum(step.pressure for step in found.steps) == pytest.approx(
        found.entry_pressure - found.pressure_low, abs=1e-6
    )
    assert found.worst_head == "H2"
    labels = [step.label for step in found.steps]
    mains = [label for label in labels if label.startswith("main")]
    laterals = [label.split(",")[0] for label in labels if label.startswith("lateral")]
    assert mains == ["main M1, PE 1 in", "main M2, PE 1 in"]
    assert laterals == ["lateral Z1.1", "lateral Z1.2", "lateral Z1.3"]
    assert labels[-2:] == ["riser of H2", "height"]
    order = [labels.index(name) for name in (d.label for d in devices_of(kind, heads))]
    assert order == sorted(order)
    assert (order[0] == 0) == (kind in ("reduced pressure zone", "double check"))
    assert all(step.source and step.formula and step.inputs for step in found.steps)
    shown = " ".join(value for step in found.steps for value in step.inputs.values())
    assert ("gpm" in shown) == (units == "US")
    assert ("L/min" in shown) == (units == "metric")


def devices_of(kind, heads):
    return zone_devices(kind, yard=yard(), catalogue=CATALOGUE, flow=sum(h.flow for h in heads))


def test_flows_balance_in_every_pipe():
    heads, pipes, heights = branching()
    found = solve(heads, pipes, at=place(name="V2"), ground=heights)
    q = found.head_flow
    assert set(found.pipe_flow) == {"M1", "M2", "Z1.1", "Z1.2", "Z1.3", "Z1.4"}, "zone 2 is not of this zone"
    assert found.pipe_flow["Z1.2"] == pytest.approx(q["H1"] + q["H2"], rel=1e-9)
    assert found.pipe_flow["Z1.4"] == pytest.approx(q["H3"], rel=1e-9)
    assert found.pipe_flow["M1"] == pytest.approx(found.flow, rel=1e-9)
    assert found.pipe_flow["M2"] == pytest.approx(found.flow, rel=1e-9)
    assert found.flow == pytest.approx(sum(q.values()), rel=1e-9)
    assert found.flow_spread == pytest.approx((max(q.values()) - min(q.values())) / max(q.values()))
    speeds = {p.id: found.pipe_flow[p.id] / (np.pi / 4 * p.bore**2) for p in pipes if p.id in found.pipe_flow}
    assert found.fastest_pipe == max(speeds, key=speeds.get)
    assert found.highest_velocity == pytest.approx(max(speeds.values()))


def test_nets_that_cross_at_a_named_spot_stay_apart():
    """Zone 2's lateral goes through J1 too; its water is not zone 1's."""
    heads, pipes, heights = branching()
    without = [p for p in pipes if p.zone != "Z2"]
    crossing = solve(heads, pipes, at=place(name="V2"), ground=heights)
    alone = solve(heads, without, at=place(name="V2"), ground=heights)
    assert crossing.pressure == pytest.approx(alone.pressure, rel=1e-12)


def test_spread_counts_only_like_heads():
    heads, pipes, heights = branching()
    heads[1] = heads[1].model_copy(update={"arc": 90.0})
    found = solve(heads, pipes, at=place(name="V2"), ground=heights)
    like = [found.head_flow["H1"], found.head_flow["H3"]]
    assert found.flow_spread == pytest.approx((max(like) - min(like)) / max(like))
    assert found.head_flow["H2"] < 0.5 * min(like)


def test_valve_at_the_entry_needs_no_main():
    lateral = pipe("Z1.1", "entry", "H1", path=((0, 0), (20, 0)), zone="Z1")
    found = solve([head("H1")], [lateral], at=place(name="entry"))
    assert found.pressure_low > 3e5
    assert [step.label.split()[0] for step in found.steps].count("main") == 0


def test_head_above_the_reach_of_the_supply_is_dry_not_an_error():
    heads, pipes, heights = branching()
    heights = heights | {"H2": 60.0}
    heads[1] = heads[1].model_copy(update={"ground": 60.0})
    found = solve(heads, pipes, at=place(name="V2"), ground=heights)
    assert found.head_flow["H2"] == 0.0
    assert found.worst_head == "H2"
    assert found.pressure_low < 0
    assert found.flow_spread == 1.0
    assert sum(step.pressure for step in found.steps) == pytest.approx(found.entry_pressure - found.pressure_low)


def test_heights_of_the_network():
    """Pipes in the trench, the breaker on its riser, nozzles popped up, the supply at the entry."""
    heads, pipes, heights = branching()
    network = zone_network(
        heads,
        zone="Z1",
        pipes=pipes,
        nodes=nodes_of(pipes, heights),
        entry="entry",
        place=place("pressure vacuum breaker", 0.8, "V2"),
        yard=yard(),
        catalogue=CATALOGUE,
        supply=SUPPLY,
        minor=minor_losses(pipes),
    )
    assert network.elevation["supply"] == 0.5
    assert network.elevation["H2"] == pytest.approx(2.0 - 0.3)
    assert network.elevation["H2 (nozzle)"] == pytest.approx(2.1)
    assert network.elevation["after pressure vacuum breaker"] == pytest.approx(0.8)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda _, pipes: ([], pipes), "zone 'Z1' has no heads"),
        (lambda heads, pipes: (heads, [p for p in pipes if p.id != "M1"]), "no main joins valve place 'V2' to 'entry'"),
        (lambda heads, pipes: (heads, [p for p in pipes if p.id != "Z1.3"]), "head 'H2' of zone 'Z1' has no lateral"),
        (lambda heads, pipes: ([heads[0].model_copy(update={"nozzle": "none"})], pipes), "nozzle 'none'"),
        (
            lambda heads, pipes: (heads, [p.model_copy(update={"size": "9 in"}) for p in pipes]),
            "PE 9 in, which the catalogue does not hold",
        ),
    ],
)
def test_a_broken_plan_is_refused_by_name(change, says):
    heads, pipes, heights = branching()
    heads, broken = change(heads, pipes)
    names = nodes_of(pipes, heights)
    with pytest.raises(InputError, match=says):
        solve_zone(
            heads,
            zone="Z1",
            pipes=broken,
            nodes=names,
            entry="entry",
            place=place(name="V2"),
            yard=yard(),
            catalogue=CATALOGUE,
            supply=SUPPLY,
            minor=minor_losses(broken),
        )


@pytest.mark.parametrize("kind", BACKFLOW_KINDS)
def test_flow_control_follows_the_valve(kind):
    heads, pipes, heights = branching()
    control = ZoneDevice("flow control", "place", DeviceLoss(factor=3e10), "set by hand")
    free = solve(heads, pipes, at=place(kind, 0.45, "V2"), ground=heights)
    held = solve(heads, pipes, at=place(kind, 0.45, "V2"), ground=heights, extra=[control])
    labels = [step.label for step in held.steps]
    at = labels.index("flow control")
    assert "valve" in labels[at - 1]
    assert held.steps[at].pressure == pytest.approx(control.loss.at(held.flow), abs=0.01)
    assert held.flow < free.flow
    assert sum(step.pressure for step in held.steps) == pytest.approx(held.entry_pressure - held.pressure_low)


def test_stronger_supply_raises_every_head():
    heads, pipes, heights = branching()
    weak = solve(heads, pipes, at=place(name="V2"), ground=heights)
    strong = solve(heads, pipes, at=place(name="V2"), ground=heights, supply=SUPPLY.model_copy(update={"static": 5e5}))
    assert all(strong.pressure[name] > weak.pressure[name] for name in weak.pressure)


def looped():
    """Two ways from the entry to V2: over V1, and a longer one drawn towards the entry."""
    heads, pipes, heights = branching()
    back = pipe("M3", "V2", "entry", path=((20, 5), (0, 5), (0, 0)), size="3/4 in")
    return heads, [*pipes, back], heights


def test_a_looped_main_shares_the_flow_as_two_ways_in_balance():
    """Both ways lose the same between entry and V2: flow of each by brentq on the formulas of `physics.losses`."""
    heads, pipes, heights = looped()
    minor = minor_losses(pipes)
    found = solve(heads, pipes, at=place("double check", name="V2"), ground=heights)
    by_id = {p.id: p for p in pipes}

    def lost(name, flow):
        run = by_id[name]
        friction = losses.darcy_pressure_loss(flow, inside_diameter=run.bore, length=run.length, roughness=1.5e-6)
        return friction + losses.fitting_pressure_loss(flow, inside_diameter=run.bore, coefficient=minor[name])

    share = brentq(lambda q: lost("M1", q) + lost("M2", q) - lost("M3", found.flow - q), 0.0, found.flow, xtol=1e-15)
    assert found.pipe_flow["M1"] == pytest.approx(share, rel=1e-5)
    assert found.pipe_flow["M2"] == pytest.approx(share, rel=1e-5)
    assert found.pipe_flow["M3"] == pytest.approx(found.flow - share, rel=1e-5)
    alone = solve(heads, pipes[:-1], at=place("double check", name="V2"), ground=heights)
    assert found.pressure_low > alone.pressure_low


def test_steps_follow_the_larger_flow_and_still_add_up():
    heads, pipes, heights = looped()
    for size in ("3/4 in", "1-1/4 in"):
        wide = pipe("M3", "V2", "entry", path=((20, 5), (0, 5), (0, 0)), size=size)
        found = solve(heads, [*pipes[:-1], wide], at=place("double check", name="V2"), ground=heights)
        walked = [step.label for step in found.steps if step.label.startswith("main")]
        over_back = found.pipe_flow["M3"] > found.pipe_flow["M2"]
        assert [label.split(",")[0] for label in walked] == (["main M3"] if over_back else ["main M1", "main M2"])
        assert over_back == (size == "1-1/4 in")
        assert sum(s.pressure for s in found.steps) == pytest.approx(
            found.entry_pressure - found.pressure_low, abs=1e-6
        )
        assert all(step.pressure >= 0 for step in found.steps if not step.label.startswith("height"))
