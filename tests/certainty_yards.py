"""Invented yards whose truth is known: drawn, measured with errors, planned from the measurements, then asked.

The truth shares no code with the draws: its supply is a real service pipe with a meter, not the power law of the fit;
its ground is one draw of the random field; its control is set by a root search on the true network.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from rillwright.model.catalogue import load_catalogue, outlet_of
from rillwright.model.network import Link, Network, Outlet
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import Head, SupplyCurve
from rillwright.model.site import Yard
from rillwright.model.terrain import Terrain
from rillwright.physics.supply import open_outlet_loss, service_line_loss
from rillwright.physics.units import GALLON, GPM, PSI
from rillwright.solvers.certainty import ZoneModel, draw_yard, run_zone
from rillwright.solvers.certainty.heights import DATUM, REACH, SLOPE, UNEVEN
from rillwright.solvers.network import solve_network
from rillwright.solvers.supply import SupplyFit, expected_curve, fit_supply

CATALOGUE = load_catalogue()
QUANTITIES = (
    "least pressure, control open",
    "greatest pressure, control open",
    "pressure of one head, control set",
    "zone flow, control set",
    "flow kept at 60 % of static",
    "height of one head",
)
ENTRY = (0.0, 0.0)
NOZZLES = ("rotary 20 ft", "rotary 30 ft", "spray 12 ft", "small rotor 1.5 gpm")


@dataclass(frozen=True)
class Wrongs:
    """How the truth breaks what the draws take for granted; 1 and 0 break nothing."""

    error: float = 1.0  # times the stated errors of all readings
    sag: float = 0.0  # share of the static pressure that the street lacks in the hour of watering
    nozzle: float = 1.0  # times the spread of charts and nozzles


@dataclass(frozen=True)
class Asked:
    """One yard's answers."""

    truth: dict[str, float]
    bands: dict[str, tuple[float, float]]

    def held(self):
        """Whether each band holds the truth."""
        return {name: low <= self.truth[name] <= high for name, (low, high) in self.bands.items()}


@dataclass(frozen=True)
class _World:
    """A yard as it is, and as its owner knows it."""

    yard: Yard
    fit: SupplyFit
    model: ZoneModel
    ground: list[float]  # [m] true, at the heads
    planned: list[float]  # [m] read off the spots
    entry: float  # [m] true height
    entry_said: float
    pressure: float  # [Pa] true static pressure while measuring
    service: dict


def ask(seed, *, wrongs=Wrongs(), draws=256):
    """Draw a yard, measure it, foretell it, and look."""
    rng = np.random.default_rng([seed, 7])
    world = _world(rng, wrongs, share=float(rng.uniform(0.6, 1.1)))
    return Asked(_truth(world, wrongs, rng), _foretold(world, seed, draws))


def foretelling(seed, *, share):
    """A yard, its fit and its zone, with nothing wrong; share of the design flow that the control is set to."""
    world = _world(np.random.default_rng([seed, 7]), Wrongs(), share=share)
    return world.yard, world.fit, world.model


def _world(rng, wrongs, *, share):
    heads_at = [(6.0 + 4.0 * k, float(rng.uniform(-3, 3))) for k in range(int(rng.integers(3, 6)))]
    spots_at = [ENTRY, (10.0, 8.0), (12.0, -8.0), (24.0, 6.0), (25.0, -5.0)]
    ground = _field([*heads_at, *spots_at], rng)
    true_spots = ground[len(heads_at) :]
    spots = true_spots + 0.03 * wrongs.error * rng.standard_normal(len(spots_at))
    entry = float(true_spots[0])
    pressure, service = _true_service(rng)
    yard = _yard(service["described"], spots_at, spots, entry, _readings(pressure, service, wrongs, rng))
    planned = Terrain(spots_at, spots, level=entry).height(heads_at)
    nozzle = CATALOGUE.nozzles[NOZZLES[int(rng.integers(len(NOZZLES)))]]
    heads = tuple(_head(k, at, float(z), nozzle) for k, (at, z) in enumerate(zip(heads_at, planned, strict=True)))
    fit = fit_supply(yard, CATALOGUE, draws=1000)
    entry_said = entry + 0.03 * float(rng.standard_normal())
    model = _model(heads, entry_said, expected_curve(fit), share=share)
    return _World(yard, fit, model, ground[: len(heads_at)], planned, entry, entry_said, pressure, service)


def _foretold(world, seed, count):
    model = world.model
    drawn = draw_yard(world.yard, fit=world.fit, heads=model.heads, zones=[model.id], seed=seed, count=count)
    solved = run_zone(model, drawn)
    values = (
        solved.open_pressure.min(axis=1),
        solved.open_pressure.max(axis=1),
        solved.pressure[:, 0],
        solved.flow,
        world.fit.flows(0.6 * world.pressure),
        drawn.rise["H0"] + world.planned[0] - world.entry_said,
    )
    return {name: tuple(np.quantile(v, (0.05, 0.95))) for name, v in zip(QUANTITIES, values, strict=True)}


def _field(points, rng):
    """One draw of the ground at points: datum, slope, unevenness; written out from docs/theory/certainty.md."""
    at = np.array(points)
    apart = np.linalg.norm(at[:, None, :] - at[None, :, :], axis=2)
    middle = at - at.mean(axis=0)
    uneven = np.linalg.cholesky(UNEVEN**2 * np.exp(-apart / REACH) + 1e-10 * np.eye(len(at)))
    fall = middle @ (SLOPE * rng.standard_normal(2))
    return DATUM * rng.standard_normal() + fall + uneven @ rng.standard_normal(len(at))


def _true_service(rng):
    material, size = [("PE", "1 in"), ("copper L", "3/4 in"), ("PVC SDR-21", "1-1/4 in")][rng.integers(3)]
    meter = ["5/8 in", "3/4 in", "1 in"][rng.integers(3)]
    bore = next(p.inside_diameter for p in CATALOGUE.pipes if (p.material, p.trade_size) == (material, size))
    length = float(rng.uniform(8, 45))
    return float(np.clip(57 * PSI * np.exp(0.15 * rng.standard_normal()), 42 * PSI, 95 * PSI)), {
        "described": {"pipe": {"material": material, "size": size, "length": length}, "meter": {"size": meter}},
        "length": length * float(rng.uniform(0.9, 1.3)),
        "bore": bore * (1 + 0.02 * float(rng.standard_normal())),
        "roughness": float(10 ** rng.uniform(-6, -4)),
        "fittings": float(rng.uniform(3, 25)),
        "meter_factor": CATALOGUE.meters[meter].loss.factor * float(rng.uniform(0.6, 1.3))
        + float(10 ** rng.uniform(8.5, 10.2)),
        "outlet": 1 + float(np.exp(rng.standard_normal())),
    }


def _loss(service, flow):
    terms = {k: service[k] for k in ("length", "bore", "roughness", "fittings", "meter_factor")}
    return service_line_loss(flow, **terms)


def _readings(pressure, service, wrongs, rng):
    """A static gauge and a bucket, or one of them, or a gauge at a flow too, with errors as the yard states them."""
    noise = lambda: wrongs.error * float(rng.standard_normal())  # noqa: E731
    through = lambda q: open_outlet_loss(q, bore=service["bore"], loss_factor=service["outlet"])  # noqa: E731
    open_flow = brentq(lambda q: pressure - _loss(service, q) - through(q), 1e-7, 0.05)
    static = {"kind": "static gauge", "pressure": pressure + 14e3 * noise()}
    mark = 5 * GALLON * (1 + 0.03 * noise())
    bucket = {
        "kind": "bucket fill",
        "volume": 5 * GALLON,
        "seconds": [max(mark / open_flow + 0.3 * noise(), 0.5) for _ in range(3)],
    }
    flow = open_flow * float(rng.uniform(0.3, 0.7))
    shown = max(pressure - _loss(service, flow) + 14e3 * noise(), 0.0)
    gauge = {"kind": "gauge at a flow", "pressure": shown, "flow": flow * (1 + 0.05 * noise())}
    mixes = ((static, bucket), (static, bucket, gauge), (static, gauge), (bucket, gauge))
    return mixes[int(rng.integers(len(mixes)))]


def _yard(described, spots_at, spots, entry_height, readings):
    return Yard(
        name="invented yard",
        units="US",
        areas=[{"id": "lawn", "kind": "lawn", "outline": [(0, -10), (30, -10), (30, 10), (0, 10)]}],
        spot_heights=[{"at": at, "height": float(z)} for at, z in zip(spots_at, spots, strict=True)],
        water_entry={"at": ENTRY, "height": entry_height, **described},
        supply=list(readings),
        controller={"stations": 6},
        backflow={"allowed": ["pressure vacuum breaker"]},
    )


def _head(number, at, ground, nozzle):
    pressure = nozzle.design_pressure
    outlet = outlet_of(nozzle, 180.0)
    return Head(
        id=f"H{number}",
        lawn="lawn",
        at=at,
        ground=ground,
        head_class=nozzle.head_class,
        nozzle=nozzle.id,
        arc_start=0.0,
        arc=180.0,
        radius_share=1.0,
        radius=4.0,
        flow=outlet.coefficient * pressure**outlet.exponent,
        pressure=pressure,
        hydrozone="sun, turf, level",
    )


def _model(heads, entry, supply, *, share):
    """A valve and one lateral with a head every few metres; share of the design flow that the control is set to."""
    elevation = {"supply": entry, "valve": entry, "start": entry}
    links = [
        Link("device valve", "supply", "valve", device=DeviceLoss(factor=2e10, threshold=5e3)),
        Link("device control", "valve", "start", device=DeviceLoss(factor=0.0)),
    ]
    outlets = {}
    before = "start"
    for head in heads:
        tee, nozzle = f"{head.id} tee", f"{head.id} nozzle"
        elevation |= {tee: head.ground - 0.3, nozzle: head.ground + 0.1}
        links.append(Link(f"to {head.id}", before, tee, length=7.0, bore=0.0266, minor=2.0))
        links.append(Link(f"riser {head.id}", tee, nozzle, length=0.45, bore=0.0158, minor=4.0))
        outlets[nozzle] = outlet_of(CATALOGUE.nozzles[head.nozzle], head.arc)
        before = tee
    return ZoneModel(
        id="Z1",
        network=Network("supply", supply, elevation, tuple(links), outlets),
        control="device control",
        outlets={head.id: f"{head.id} nozzle" for head in heads},
        heads=heads,
        target=share * sum(head.flow for head in heads),
    )


def _truth(world, wrongs, rng):
    model, pressure = world.model, world.pressure * (1 - wrongs.sag)
    network = _true_network(world, pressure, wrongs, rng)
    nozzles = [model.outlets[head.id] for head in model.heads]
    wide = solve_network(network)
    target = model.target * (1 + 0.03 * float(rng.standard_normal()))

    def with_control(loss):
        factor = loss / target**2
        links = [replace(k, device=DeviceLoss(factor)) if k.id == model.control else k for k in network.links]
        return replace(network, links=tuple(links))

    set_to = network
    if wide.source_flow > target:
        drawn = lambda loss: solve_network(with_control(loss)).source_flow - target  # noqa: E731
        set_to = with_control(brentq(drawn, 0.0, pressure, xtol=100.0))
    house = 2.5 * GPM if rng.random() < 0.05 else 0.0
    state = solve_network(replace(set_to, demands={"supply": house}))
    stands = [wide.pressure[node] for node in nozzles]
    return {
        "least pressure, control open": min(stands),
        "greatest pressure, control open": max(stands),
        "pressure of one head, control set": state.pressure[nozzles[0]],
        "zone flow, control set": sum(state.outlet_flow.values()),
        "flow kept at 60 % of static": brentq(
            lambda q: pressure - 0.6 * world.pressure - _loss(world.service, q), 1e-9, 0.05
        ),
        "height of one head": float(world.ground[0]) - world.entry,
    }


def _true_network(world, pressure, wrongs, rng):
    """The yard as it is: a real service pipe in front, and everything else as the world made it."""
    model, entry, service = world.model, world.entry, world.service
    rough, fittings = np.exp(rng.standard_normal()), 1.2 * np.exp(0.35 * rng.standard_normal())
    device = float(np.exp(0.10 * rng.standard_normal()))
    chart = 1 + 0.03 * wrongs.nozzle * rng.standard_normal()
    elevation = {"street": entry, "meter": entry} | dict.fromkeys(("supply", "valve", "start"), entry)
    outlets = {}
    for head, z in zip(model.heads, world.ground, strict=True):
        elevation |= {f"{head.id} tee": float(z) - 0.3, f"{head.id} nozzle": float(z) + 0.1}
        law = model.network.outlets[f"{head.id} nozzle"]
        factor = chart * (1 + 0.04 * wrongs.nozzle * rng.standard_normal())
        outlets[f"{head.id} nozzle"] = Outlet(law.coefficient * float(factor), law.exponent)
    links = [
        Link(
            "service",
            "street",
            "meter",
            length=service["length"],
            bore=service["bore"],
            roughness=service["roughness"],
            minor=service["fittings"],
        ),
        Link("meter", "meter", "supply", device=DeviceLoss(service["meter_factor"])),
    ]
    for link in model.network.links:
        if link.device is None:
            links.append(replace(link, roughness=link.roughness * float(rough), minor=link.minor * float(fittings)))
        elif link.id == model.control:
            links.append(link)
        else:
            links.append(replace(link, device=DeviceLoss(link.device.factor * device, link.device.threshold)))
    temperature = 288.15 + 4.0 * float(rng.standard_normal())
    street = SupplyCurve(static=pressure, factor=0.0, exponent=2.0)
    return Network("street", street, elevation, tuple(links), outlets, temperature=temperature)
