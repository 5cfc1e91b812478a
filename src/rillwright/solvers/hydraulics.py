"""One zone's hydraulics: from plan pieces to a network, and from its state back to heads, pipes and loss steps.

What stands where. The supply curve holds at the water entry's height. Pipes lie at ground - rules.trench_depth. Where
the backflow kind asks for a height over ground at the valve place, the water climbs to it between the devices there.
Every nozzle stands at ground + rules.popup_height, on a riser of its own; heights in between shift no flow.
A node name may be used by several nets that cross at one spot without being joined, so each net keeps its own nodes.
"""

import heapq
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from rillwright.errors import InputError
from rillwright.model.catalogue import outlet_of, setting_of
from rillwright.model.network import Link, Network, Outlet
from rillwright.model.parts import Catalogue, DeviceLoss
from rillwright.model.plan import Head, LossStep, Node, Pipe, SupplyCurve, ValvePlace
from rillwright.model.site import Yard
from rillwright.physics.losses import friction_factor
from rillwright.physics.pipes import velocity
from rillwright.physics.units import GRAVITY, System, show
from rillwright.physics.water import density, viscosity
from rillwright.solvers.devices import ZoneDevice, zone_devices
from rillwright.solvers.fittings import riser
from rillwright.solvers.mains import carrying
from rillwright.solvers.network import NetworkState, solve_network

__all__ = ["Way", "ZoneHydraulics", "main_node", "nozzle_node", "pipe_link", "solve_zone", "zone_network"]

_PIPE_FORMULA = "f · L/D · ρ v²/2 + K · ρ v²/2"
_PIPE_SOURCE = "Darcy-Weisbach; Colebrook-White (1939); K by Crane TP-410; docs/theory/hydraulics.md"
_RISER_SOURCE = "tee branch, three elbows, 0.45 m of riser: common practice, no source; " + _PIPE_SOURCE


@dataclass(frozen=True, slots=True)
class ZoneHydraulics:
    """One zone, running alone on a supply."""

    zone: str
    flow: float  # [m³/s] out of all its heads
    pressure: Mapping[str, float]  # [Pa] at the nozzle, by head; negative where the water does not reach
    head_flow: Mapping[str, float]  # [m³/s] by head
    pipe_flow: Mapping[str, float]  # [m³/s] by pipe that may carry this zone, whichever way it runs
    entry_pressure: float  # [Pa] at the water entry while it runs, behind a pressure reducing valve
    after_valve: float  # [Pa] where the laterals begin
    worst_head: str  # the one with the least pressure
    pressure_low: float  # [Pa] there
    pressure_high: float  # [Pa] at the head with the most
    flow_spread: float  # [0..1] (most - least) / most, greatest among heads with the same nozzle and arc
    highest_velocity: float  # [m/s]; 0 when the zone has no pipes
    fastest_pipe: str | None
    steps: tuple[LossStep, ...]  # along the way asked for; their sum is the pressure at its start less that at its end
    begins: float  # [Pa] where the steps begin


@dataclass(frozen=True, slots=True)
class Way:
    """A way through what carries one zone's water, by names of the plan."""

    end: str  # head, valve place or junction
    via: str | None = None  # pipe that it leads through, as the water runs
    start: str | None = None  # node where it begins; the entry when None


@dataclass(frozen=True, slots=True)
class _ZoneParts:
    """What a zone's network is made of, in the order the water meets it."""

    zone: str
    entry: str
    place: ValvePlace
    heads: Sequence[Head]
    main: Sequence[Pipe]
    laterals: Sequence[Pipe]
    at_entry: Sequence[ZoneDevice]
    at_place: Sequence[ZoneDevice]


def solve_zone(
    zone_heads: Sequence[Head],
    *,
    zone: str,
    pipes: Sequence[Pipe],
    nodes: Mapping[str, Node],
    entry: str,
    place: ValvePlace,
    yard: Yard,
    catalogue: Catalogue,
    supply: SupplyCurve,
    minor: Mapping[str, float],
    house: float = 0.0,
    extra: Sequence[ZoneDevice] = (),
    regulated: Mapping[str, float] | None = None,
    way: Way | None = None,
) -> ZoneHydraulics:
    """Solve a zone on a supply curve; a dry head is a legal answer.

    Parameters and errors as for zone_network; house [m³/s], drawn at the entry by the house meanwhile;
    extra, further devices after the valve, such as its flow control; regulated [Pa], what the regulator in a head lets
    through to its nozzle, by head; way, where the steps lead, to the worst head when left out.
    A capped supply is one behind a pressure reducing valve, at which the steps start.
    """
    parts = _parts(zone_heads, zone, pipes, entry, place, yard, catalogue, extra, supply.cap)
    network = _network(parts, nodes, yard, catalogue, supply, minor)
    held = {nozzle_node(head): most for head, most in (regulated or {}).items()}
    network = replace(network, outlets=network.outlets | _regulated(network.outlets, held))
    state = solve_network(replace(network, demands={network.source: house}))
    stands = {head.id: state.pressure[nozzle_node(head.id)] for head in zone_heads}
    pressure = {head: min(p, held.get(nozzle_node(head), p)) for head, p in stands.items()}
    head_flow = {head.id: state.outlet_flow[nozzle_node(head.id)] for head in zone_heads}
    pipe_flow = {pipe.id: abs(state.flow[pipe_link(pipe)]) for pipe in (*parts.main, *parts.laterals)}
    worst = min(pressure, key=lambda head: pressure[head])
    way = way or Way(worst)
    walked = _walked(way, parts, network, state)
    speeds = {
        pipe.id: velocity(pipe_flow[pipe.id], inside_diameter=pipe.bore) for pipe in (*parts.main, *parts.laterals)
    }
    fastest = max(speeds, key=lambda pipe: speeds[pipe], default=None)
    return ZoneHydraulics(
        zone=zone,
        flow=sum(head_flow.values()),
        pressure=pressure,
        head_flow=head_flow,
        pipe_flow=pipe_flow,
        entry_pressure=state.pressure[_entry_node(parts)],
        after_valve=state.pressure[place.id],
        worst_head=worst,
        pressure_low=pressure[worst],
        pressure_high=max(pressure.values()),
        flow_spread=_flow_spread(zone_heads, head_flow),
        highest_velocity=speeds[fastest] if fastest else 0.0,
        fastest_pipe=fastest,
        steps=(
            *_steps(walked, way.end, parts, network, state, yard.units),
            *(_held_step(stands[way.end], pressure[way.end], yard.units) if way.end in stands else ()),
        ),
        begins=state.pressure[walked[0][1]] if walked else state.pressure[_entry_node(parts)],
    )


def zone_network(
    zone_heads: Sequence[Head],
    *,
    zone: str,
    pipes: Sequence[Pipe],
    nodes: Mapping[str, Node],
    entry: str,
    place: ValvePlace,
    yard: Yard,
    catalogue: Catalogue,
    supply: SupplyCurve,
    minor: Mapping[str, float],
    extra: Sequence[ZoneDevice] = (),
) -> Network:
    """Make the network of everything that carries one zone's water.

    Parameters: zone_heads, the heads of `zone`, with their design flows; pipes and nodes of the whole plan; entry,
    the name of the entry's node; place, where the zone's valve stands; supply, the curve at the entry; minor, the
    fittings' K of each pipe by id, as minor_losses gives it; extra, devices that follow the zone's valve, such as
    its flow control. Returns: the network, SI, with water as warm as the yard says.
    Errors: InputError when no main joins the place to the entry, a head has no lateral, or a pipe's size or a
    head's nozzle is not in the catalogue; from solve_network, when a lateral does not begin at the place.
    """
    parts = _parts(zone_heads, zone, pipes, entry, place, yard, catalogue, extra, supply.cap)
    return _network(parts, nodes, yard, catalogue, supply, minor)


def main_node(node: str) -> str:
    """Name a node of the main; a lateral's node may bear the plain name at the same spot."""
    return f"{node} (main)"


def nozzle_node(head: str) -> str:
    """Name the node of a head's nozzle."""
    return f"{head} (nozzle)"


def pipe_link(pipe: Pipe) -> str:
    """Name the link of a pipe."""
    return f"pipe {pipe.id}"


def _parts(
    heads: Sequence[Head],
    zone: str,
    pipes: Sequence[Pipe],
    entry: str,
    place: ValvePlace,
    yard: Yard,
    catalogue: Catalogue,
    extra: Sequence[ZoneDevice],
    cap: float | None,
) -> _ZoneParts:
    if not heads:
        raise InputError(f"zone '{zone}' has no heads: give it some or leave it out")
    main = carrying([pipe for pipe in pipes if pipe.role == "main"], entry, place.id)
    if not main and place.id != entry:
        raise InputError(f"no main joins valve place '{place.id}' to '{entry}'")
    design_flow = sum(head.flow for head in heads)
    devices = zone_devices(place.backflow, yard=yard, catalogue=catalogue, flow=design_flow)
    at_place: list[ZoneDevice] = []
    for device in (device for device in devices if device.where == "place"):
        at_place += [device] if device.label == place.backflow else [device, *extra]
    return _ZoneParts(
        zone=zone,
        entry=entry,
        place=place,
        heads=heads,
        main=main,
        laterals=[pipe for pipe in pipes if pipe.role == "lateral" and pipe.zone == zone],
        at_entry=[*_reducer(cap, yard), *(device for device in devices if device.where == "entry")],
        at_place=at_place,
    )


def _entry_node(parts: _ZoneParts) -> str:
    """Where the pressure at the entry is told: behind the pressure reducing valve, if there is one."""
    if not parts.at_entry or parts.at_entry[0].regulated_to is None:
        return "supply"
    return f"after {parts.at_entry[0].label}" if parts.at_entry[1:] else main_node(parts.entry)


def _reducer(cap: float | None, yard: Yard) -> list[ZoneDevice]:
    """What holds the pressure at the entry down: a well's pressure switch, a pressure reducing valve, or nothing."""
    if cap is None:
        return []
    if yard.water_entry.well is not None:
        switch = "the pump starts again at cut-in, and no more is counted on; docs/theory/water.md"
        return [ZoneDevice("pressure switch", "entry", DeviceLoss(0.0), switch, regulated_to=cap)]
    source = "pressure reducing valve: its setting less what it gives less while water runs; docs/theory/water.md"
    return [ZoneDevice("pressure reducing valve", "entry", DeviceLoss(0.0), source, regulated_to=cap)]


def _regulated(outlets: Mapping[str, Outlet], most: Mapping[str, float]) -> dict[str, Outlet]:
    return {node: replace(outlets[node], regulated_to=pressure) for node, pressure in most.items()}


def _network(
    parts: _ZoneParts,
    nodes: Mapping[str, Node],
    yard: Yard,
    catalogue: Catalogue,
    supply: SupplyCurve,
    minor: Mapping[str, float],
) -> Network:
    entry, place = parts.entry, parts.place
    depth = yard.rules.trench_depth
    elevation = {"supply": yard.water_entry.height, main_node(entry): yard.water_entry.height}
    passed = (node for pipe in parts.main for node in (pipe.start, pipe.end) if node != entry)
    elevation |= {main_node(node): nodes[node].ground - depth for node in passed}
    elevation[place.id] = nodes[place.id].ground - depth
    elevation |= {pipe.end: nodes[pipe.end].ground - depth for pipe in parts.laterals}
    elevation |= {nozzle_node(head.id): head.ground + yard.rules.popup_height for head in parts.heads}
    links = _chain(parts.at_entry, "supply", main_node(entry))
    links += [_pipe(pipe, main_node(pipe.start), main_node(pipe.end), catalogue, minor) for pipe in parts.main]
    links += _chain(parts.at_place, main_node(place.id), place.id)
    links += [_pipe(pipe, pipe.start, pipe.end, catalogue, minor) for pipe in parts.laterals]
    links += [riser(head, start=head.id, end=nozzle_node(head.id)) for head in parts.heads]
    between = nodes[place.id].ground + (-depth if place.device_height is None else place.device_height)
    elevation |= {node: between for link in links for node in (link.start, link.end) if node.startswith("after ")}
    outlets: dict[str, Outlet] = {}
    for head in parts.heads:
        if head.id not in elevation:
            raise InputError(f"head '{head.id}' of zone '{parts.zone}' has no lateral: route one to it")
        if head.nozzle not in catalogue.nozzles:
            raise InputError(f"head '{head.id}' has nozzle '{head.nozzle}', which the catalogue does not hold: add it")
        outlets[nozzle_node(head.id)] = outlet_of(
            catalogue.nozzles[head.nozzle], head.arc, radius_share=head.radius_share
        )
    warm = yard.water_entry.temperature
    street = supply.model_copy(update={"cap": None})
    return Network("supply", street, elevation, tuple(links), outlets, temperature=warm)


def _chain(devices: Sequence[ZoneDevice], start: str, end: str) -> list[Link]:
    """String devices between two nodes; with none, join the two without loss."""
    if not devices:
        return [Link(f"{start} to {end}", start, end)]
    between = [f"after {device.label}" for device in devices[:-1]]
    ends = zip([start, *between], [*between, end], devices, strict=True)
    return [
        Link(f"device {device.label}", a, b, device=device.loss)
        if device.regulated_to is None
        else Link(f"device {device.label}", a, b, regulated_to=device.regulated_to)
        for a, b, device in ends
    ]


def _pipe(pipe: Pipe, start: str, end: str, catalogue: Catalogue, minor: Mapping[str, float]) -> Link:
    size = next((s for s in catalogue.pipes if s.material == pipe.material and s.trade_size == pipe.size), None)
    if size is None:
        raise InputError(f"pipe '{pipe.id}' is {pipe.material} {pipe.size}, which the catalogue does not hold: add it")
    return Link(
        pipe_link(pipe), start, end, length=pipe.length, bore=pipe.bore, roughness=size.roughness, minor=minor[pipe.id]
    )


def _flow_spread(heads: Iterable[Head], flow: Mapping[str, float]) -> float:
    like: dict[str, list[float]] = {}
    for head in heads:
        like.setdefault(setting_of(head), []).append(flow[head.id])
    return max((max(flows) - min(flows)) / max(flows) if max(flows) > 0 else 0.0 for flows in like.values())


Walked = list[tuple[Link, str, str]]  # links, each with its ends in the order of the walk


def _walked(way: Way, parts: _ZoneParts, network: Network, state: NetworkState) -> Walked:
    """Links of a way. Errors: InputError for a node or pipe that carries none of the zone's water."""

    def node(name: str, *, nozzle: bool = True) -> str:
        names = (*((nozzle_node(name),) if nozzle else ()), main_node(name), name)
        own: str | None = next((n for n in names if n in network.elevation), None)
        if own is None:
            raise InputError(f"'{name}' carries no water of zone {parts.zone}: name a point of it or of the main")
        return own

    entry = _entry_node(parts)
    if way.start is not None and way.start != parts.entry:
        return _shortest(network, node(way.start, nozzle=False), node(way.end))
    if way.via is None:
        return _path(network, state, entry, node(way.end))
    link = next((link for link in network.links if link.id == f"pipe {way.via}"), None)
    if link is None:
        raise InputError(f"Pipe '{way.via}' carries no water of zone {parts.zone}.")
    ends = (link.start, link.end) if state.flow[link.id] >= 0 else (link.end, link.start)
    onward = _shortest(network, ends[1], node(way.end), flow=state.flow)
    return [*_path(network, state, entry, ends[0]), (link, *ends), *onward]


def _shortest(network: Network, start: str, end: str, *, flow: Mapping[str, float] | None = None) -> Walked:
    """The shortest way between two nodes; with flow [m³/s] by link, never against the water.

    Errors: InputError when there is none.
    """
    leaving: dict[str, list[tuple[Link, str]]] = {}
    for link in network.links:
        if flow is None or flow[link.id] >= 0:
            leaving.setdefault(link.start, []).append((link, link.end))
        if flow is None or flow[link.id] <= 0:
            leaving.setdefault(link.end, []).append((link, link.start))
    came: dict[str, tuple[Link, str]] = {}
    least = {start: 0.0}
    front = [(0.0, start)]
    while front:
        far, here = heapq.heappop(front)
        for link, other in leaving.get(here, ()):
            if far + link.length < least.get(other, math.inf):
                least[other] = far + link.length
                came[other] = (link, here)
                heapq.heappush(front, (least[other], other))
    path: Walked = []
    while end != start:
        if end not in came:
            raise InputError(f"No water runs from '{start}' to '{end}'.")
        link, before = came[end]
        path.append((link, before, end))
        end = before
    return path[::-1]


def _steps(
    path: Walked, end: str, parts: _ZoneParts, network: Network, state: NetworkState, system: System
) -> tuple[LossStep, ...]:
    """Tell what takes pressure along a way.

    A step is the pressure difference less the height in it, so the sum is exact whichever way is walked.
    """
    pipes = {pipe_link(pipe): pipe for pipe in (*parts.main, *parts.laterals)}
    devices = {f"device {device.label}": device for device in (*parts.at_entry, *parts.at_place)}
    rho, thin = density(network.temperature), viscosity(network.temperature)
    weight = rho * GRAVITY
    steps: list[LossStep] = []
    for link, before, after in path:
        climb = network.elevation[after] - network.elevation[before]
        lost = state.pressure[before] - state.pressure[after] - weight * climb
        flow = state.flow[link.id] if after == link.end else -state.flow[link.id]
        if link.id in devices:
            steps.append(_device_step(devices[link.id], flow, lost, system))
        elif link.id in pipes:
            pipe = pipes[link.id]
            steps.append(
                _pipe_step(f"{pipe.role} {pipe.id}, {pipe.material} {pipe.size}", link, flow, lost, system, thin)
            )
        elif link.length > 0:
            steps.append(_pipe_step(f"riser of {end}", link, flow, lost, system, thin, _RISER_SOURCE))
    if not path:
        return ()
    begin = path[0][1]
    rise = network.elevation[path[-1][2]] - network.elevation[network.source if begin == _entry_node(parts) else begin]
    return (*steps, _height_step(rise, weight * rise, rho, system))


def _path(network: Network, state: NetworkState, entry: str, node: str) -> Walked:
    """Links from the entry to a node, where two sides feed a node from the one that brings more water."""
    touching: dict[str, list[tuple[Link, str, float]]] = {}
    for link in network.links:
        touching.setdefault(link.end, []).append((link, link.start, state.flow[link.id]))
        touching.setdefault(link.start, []).append((link, link.end, -state.flow[link.id]))
    path: Walked = []
    while node != entry:
        link, before, _ = max(touching[node], key=lambda way: (way[2], way[1] == way[0].start))
        path.append((link, before, node))
        node = before
    return path[::-1]


def _device_step(device: ZoneDevice, flow: float, lost: float, system: System) -> LossStep:
    if device.regulated_to is not None:
        inputs = {"flow": show(flow, "flow", system), "lets through": show(device.regulated_to, "pressure", system)}
        formula = "what stands before it over what it lets through"
        return LossStep(label=device.label, pressure=lost, formula=formula, inputs=inputs, source=device.source)
    inputs = {
        "flow": show(flow, "flow", system),
        "threshold": show(device.loss.threshold, "pressure", system),
        "factor · Q²": show(device.loss.factor * flow**2, "pressure", system),
    }
    return LossStep(
        label=device.label, pressure=lost, formula="threshold + factor · Q²", inputs=inputs, source=device.source
    )


def _pipe_step(
    label: str, link: Link, flow: float, lost: float, system: System, thin: float, source: str = _PIPE_SOURCE
) -> LossStep:
    """Words for the loss of a pipe; thin [m²/s] is the viscosity of its water."""
    speed = velocity(flow, inside_diameter=link.bore)
    reynolds = abs(speed) * link.bore / thin
    inputs = {
        "flow Q": show(flow, "flow", system),
        "bore D": show(link.bore, "bore", system),
        "length L": show(link.length, "length", system),
        "velocity v": show(speed, "velocity", system),
        "Reynolds number": f"{reynolds:.0f}",
        "friction factor f": f"{friction_factor(reynolds, link.roughness / link.bore):.4f}" if reynolds > 0 else "none",
        "fittings K": f"{link.minor:.2f}",
    }
    return LossStep(label=label, pressure=lost, formula=_PIPE_FORMULA, inputs=inputs, source=source)


def _held_step(stands: float, passes: float, system: System) -> tuple[LossStep, ...]:
    """What the regulator in a head takes off before its nozzle."""
    if stands <= passes:
        return ()
    inputs = {"before it": show(stands, "pressure", system), "lets through": show(passes, "pressure", system)}
    source = "regulator in the head; docs/theory/water.md"
    formula = "what stands before it over what it lets through"
    label = "regulator in the head"
    return (LossStep(label=label, pressure=stands - passes, formula=formula, inputs=inputs, source=source),)


def _height_step(rise: float, pressure: float, rho: float, system: System) -> LossStep:
    inputs = {"rise along the way": show(rise, "length", system), "density ρ": f"{rho:.1f} kg/m³"}
    return LossStep(label="height", pressure=pressure, formula="ρ g · rise", inputs=inputs, source="hydrostatics")
