"""What carries one zone's water, as a network: from plan pieces to nodes, links and outlets.

What stands where. The supply curve holds at the water entry's height. Pipes lie at ground - rules.trench_depth. Where
the backflow kind asks for a height over ground at the valve place, the water climbs to it between the devices there.
Every nozzle stands at ground + rules.popup_height, on a riser of its own; heights in between shift no flow.
A node name may be used by several nets that cross at one spot without being joined, so each net keeps its own nodes.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rillwright.errors import InputError
from rillwright.model.catalogue import outlet_of
from rillwright.model.network import Link, Network, Outlet
from rillwright.model.parts import Catalogue, DeviceLoss
from rillwright.model.plan import Head, Node, Pipe, SupplyCurve, ValvePlace
from rillwright.model.site import Yard
from rillwright.solvers.devices import ZoneDevice, zone_devices
from rillwright.solvers.fittings import riser
from rillwright.solvers.mains import carrying

__all__ = [
    "ZoneParts",
    "entry_node",
    "main_node",
    "network_of",
    "nozzle_node",
    "parts_of",
    "pipe_link",
    "zone_network",
]


@dataclass(frozen=True, slots=True)
class ZoneParts:
    """What a zone's network is made of, in the order the water meets it."""

    zone: str
    entry: str
    place: ValvePlace
    heads: Sequence[Head]
    main: Sequence[Pipe]
    laterals: Sequence[Pipe]
    at_entry: Sequence[ZoneDevice]
    at_place: Sequence[ZoneDevice]


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
    parts = parts_of(zone_heads, zone, pipes, entry, place, yard, catalogue, extra, supply.cap)
    return network_of(parts, nodes, yard, catalogue, supply, minor)


def parts_of(
    heads: Sequence[Head],
    zone: str,
    pipes: Sequence[Pipe],
    entry: str,
    place: ValvePlace,
    yard: Yard,
    catalogue: Catalogue,
    extra: Sequence[ZoneDevice],
    cap: float | None,
) -> ZoneParts:
    """What carries a zone's water; parameters as for zone_network, cap [Pa] at the entry."""
    if not heads:
        raise InputError(f"zone '{zone}' has no heads: give it some or leave it out")
    main = carrying([pipe for pipe in pipes if pipe.role == "main"], entry, place.id)
    if not main and place.id != entry:
        raise InputError(f"no main joins valve place '{place.id}' to '{entry}'")
    design_flow = sum(head.flow for head in heads)
    devices = zone_devices(place.backflow, yard=yard, catalogue=catalogue, flow=design_flow, size=place.backflow_size)
    at_place: list[ZoneDevice] = []
    for device in (device for device in devices if device.where == "place"):
        at_place += [device] if device.label == place.backflow else [device, *extra]
    return ZoneParts(
        zone=zone,
        entry=entry,
        place=place,
        heads=heads,
        main=main,
        laterals=[pipe for pipe in pipes if pipe.role == "lateral" and pipe.zone == zone],
        at_entry=[*_reducer(cap, yard), *(device for device in devices if device.where == "entry")],
        at_place=at_place,
    )


def network_of(
    parts: ZoneParts,
    nodes: Mapping[str, Node],
    yard: Yard,
    catalogue: Catalogue,
    supply: SupplyCurve,
    minor: Mapping[str, float],
) -> Network:
    """The network of what carries a zone's water; parameters as for zone_network."""
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


def main_node(node: str) -> str:
    """Name a node of the main; a lateral's node may bear the plain name at the same spot."""
    return f"{node} (main)"


def nozzle_node(head: str) -> str:
    """Name the node of a head's nozzle."""
    return f"{head} (nozzle)"


def pipe_link(pipe: Pipe) -> str:
    """Name the link of a pipe."""
    return f"pipe {pipe.id}"


def entry_node(parts: ZoneParts) -> str:
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
