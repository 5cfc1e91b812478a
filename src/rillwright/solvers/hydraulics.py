"""One zone's hydraulics: its network solved, and the state told by heads, pipes and ways."""

import heapq
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from rillwright.errors import InputError
from rillwright.model.catalogue import setting_of
from rillwright.model.network import Link, Network, Outlet
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, LossStep, Node, Pipe, SupplyCurve, ValvePlace
from rillwright.model.site import Yard
from rillwright.physics.pipes import velocity
from rillwright.solvers.devices import ZoneDevice
from rillwright.solvers.network import NetworkState, solve_network
from rillwright.solvers.zone_losses import Losses, Walked
from rillwright.solvers.zone_network import (
    ZoneParts,
    entry_node,
    main_node,
    network_of,
    nozzle_node,
    parts_of,
    pipe_link,
)

__all__ = ["Way", "ZoneHydraulics", "solve_zone"]


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
    begins: float  # [Pa] where the steps begin
    losses: Losses  # on the way asked for

    @property
    def steps(self) -> tuple[LossStep, ...]:
        """Steps of the way asked for; their sum is the pressure at its start less that at its end."""
        return self.losses.steps


@dataclass(frozen=True, slots=True)
class Way:
    """A way through what carries one zone's water, by names of the plan."""

    end: str  # head, valve place or junction
    via: str | None = None  # pipe that it leads through, as the water runs
    start: str | None = None  # node where it begins; the entry when None


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
    parts = parts_of(zone_heads, zone, pipes, entry, place, yard, catalogue, extra, supply.cap)
    network = network_of(parts, nodes, yard, catalogue, supply, minor)
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
        entry_pressure=state.pressure[entry_node(parts)],
        after_valve=state.pressure[place.id],
        worst_head=worst,
        pressure_low=pressure[worst],
        pressure_high=max(pressure.values()),
        flow_spread=_flow_spread(zone_heads, head_flow),
        highest_velocity=speeds[fastest] if fastest else 0.0,
        fastest_pipe=fastest,
        begins=state.pressure[walked[0][1]] if walked else state.pressure[entry_node(parts)],
        losses=Losses(
            walked, way.end, parts, network, state, yard.units, stands.get(way.end, 0.0), pressure.get(way.end, 0.0)
        ),
    )


def _regulated(outlets: Mapping[str, Outlet], most: Mapping[str, float]) -> dict[str, Outlet]:
    return {node: replace(outlets[node], regulated_to=pressure) for node, pressure in most.items()}


def _flow_spread(heads: Iterable[Head], flow: Mapping[str, float]) -> float:
    like: dict[str, list[float]] = {}
    for head in heads:
        like.setdefault(setting_of(head), []).append(flow[head.id])
    return max((max(flows) - min(flows)) / max(flows) if max(flows) > 0 else 0.0 for flows in like.values())


def _walked(way: Way, parts: ZoneParts, network: Network, state: NetworkState) -> Walked:
    """Links of a way. Errors: InputError for a node or pipe that carries none of the zone's water."""

    def node(name: str, *, nozzle: bool = True) -> str:
        names = (*((nozzle_node(name),) if nozzle else ()), main_node(name), name)
        own: str | None = next((n for n in names if n in network.elevation), None)
        if own is None:
            raise InputError(f"'{name}' carries no water of zone {parts.zone}: name a point of it or of the main")
        return own

    entry = entry_node(parts)
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
