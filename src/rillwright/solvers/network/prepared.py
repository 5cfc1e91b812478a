"""A network turned into arrays, once for any number of draws."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillwright.model.network import Link, Network
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve
from rillwright.solvers.network.check import check_network, downstream
from rillwright.solvers.network.pattern import Pattern, find_pattern

__all__ = ["Fixed", "Part", "Prepared", "Regulated", "part_ahead", "prepare"]

Floats = NDArray[np.float64]
Columns = NDArray[np.intp]


class Fixed(NamedTuple):
    """Values that no draw changes."""

    bore: Floats  # (links,) [m]
    length: Floats  # (links,) [m]
    pump: Floats  # (links, 3) shutoff, factor, exponent; 0, 0, 1 without a pump
    least: Floats  # (links,) [m³/s] least flow: 0 through a pump, else minus infinity
    power: Floats  # (outlets,) 1 / exponent
    regulated: Floats  # (outlets,) [Pa], infinite without a regulator


@dataclass(frozen=True, slots=True)
class Prepared:
    """A network as arrays: names in the order of the columns, and the values that hold where a draw gives none."""

    network: Network
    nodes: tuple[str, ...]
    links: tuple[str, ...]
    outlets: tuple[str, ...]  # the nodes they stand at
    elevation: Floats  # (nodes,) [m]
    demand: Floats  # (nodes,) [m³/s]
    roughness: Floats  # (links,) [m]
    minor: Floats  # (links,) [-]
    device_factor: Floats  # (links,) [Pa/(m³/s)²]
    device_threshold: Floats  # (links,) [Pa]
    coefficient: Floats  # (outlets,) [m³/s / Pa^exponent]
    link_setting: Floats  # (links,) ones: factor on the pressure that a regulator is set to
    outlet_setting: Floats  # (outlets,) the same for those in heads
    source: int  # column of the source node
    pattern: Pattern
    fixed: Fixed
    regulated: tuple["Regulated", ...]  # regulators with no other between them and the source
    ahead: "Part | None"  # what stands before all of those


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a network as a network of its own, and where its columns stand among those of the whole."""

    prepared: Prepared
    nodes: Columns
    links: Columns
    outlets: Columns


@dataclass(frozen=True, slots=True)
class Regulated:
    """A regulator, and what lies behind it as a network fed at the set pressure."""

    link: int  # its column
    behind: Part


def prepare(network: Network) -> Prepared:
    """Turn a network into arrays.

    Errors: InputError for a network that is not connected or holds impossible values.
    """
    check_network(network)
    return _prepared(network)


def _prepared(network: Network) -> Prepared:
    links, regulated = network.links, _regulated(network)
    devices = [link.device or DeviceLoss(0.0) for link in links]
    return Prepared(
        network=network,
        nodes=tuple(network.elevation),
        links=tuple(link.id for link in links),
        outlets=tuple(network.outlets),
        elevation=_floats(list(network.elevation.values())),
        demand=_floats([network.demands.get(node, 0.0) for node in network.elevation]),
        roughness=_floats([link.roughness for link in links]),
        minor=_floats([link.minor for link in links]),
        device_factor=_floats([device.factor for device in devices]),
        device_threshold=_floats([device.threshold for device in devices]),
        coefficient=_floats([outlet.coefficient for outlet in network.outlets.values()]),
        link_setting=np.ones(len(links)),
        outlet_setting=np.ones(len(network.outlets)),
        source=list(network.elevation).index(network.source),
        pattern=find_pattern(network),
        fixed=_fixed(network),
        regulated=regulated,
        ahead=part_ahead(network, [one.link for one in regulated]) if regulated else None,
    )


def _fixed(network: Network) -> Fixed:
    links, outlets = network.links, network.outlets.values()
    pumps = [(p.shutoff, p.factor, p.exponent) if (p := link.pump) else (0.0, 0.0, 1.0) for link in links]
    return Fixed(
        bore=_floats([link.bore for link in links]),
        length=_floats([link.length for link in links]),
        pump=np.array(pumps, dtype=float).reshape(-1, 3),
        least=_floats([-np.inf if link.pump is None else 0.0 for link in links]),
        power=_floats([1 / outlet.exponent for outlet in outlets]),
        regulated=_floats([np.inf if outlet.regulated_to is None else outlet.regulated_to for outlet in outlets]),
    )


def _floats(values: Sequence[float]) -> Floats:
    return np.array(values, dtype=float)


def _regulated(network: Network) -> tuple[Regulated, ...]:
    regulators = [link for link in network.links if link.regulated_to is not None]
    if not regulators:
        return ()
    ahead = downstream(network.source, (link for link in network.links if link.regulated_to is None))
    return tuple(_behind(network, link) for link in regulators if link.start in ahead)


def _behind(network: Network, regulator: Link) -> Regulated:
    nodes = _nodes_behind(network, regulator)
    supply = SupplyCurve(static=regulator.regulated_to or 0.0, factor=0.0, exponent=1.0)
    fed = replace(network, source=regulator.end, supply=supply)
    return Regulated(network.links.index(regulator), _part(fed, nodes, taps=nodes))


def part_ahead(network: Network, regulators: Sequence[int]) -> Part:
    """Leave out what lies behind some regulators, columns of links; what they pass may stand as demands at their ends.

    The other regulators are taken to be open.
    """
    nodes, taps = set(network.elevation), set(network.elevation)
    for regulator in (network.links[column] for column in regulators):
        behind = _nodes_behind(network, regulator)
        nodes.difference_update(behind - {regulator.end})
        taps.difference_update(behind)
    unregulated = tuple(replace(link, regulated_to=None) for link in network.links)
    return _part(replace(network, links=unregulated), nodes, taps=taps)


def _nodes_behind(network: Network, regulator: Link) -> set[str]:
    return downstream(regulator.end, (link for link in network.links if link.id != regulator.id))


def _part(network: Network, nodes: Collection[str], *, taps: Collection[str]) -> Part:
    """Keep some nodes, the links between them, and the outlets and demands of those that are taps."""
    kept = [k for k, link in enumerate(network.links) if link.start in nodes and link.end in nodes]
    part = replace(
        network,
        elevation={node: height for node, height in network.elevation.items() if node in nodes},
        links=tuple(network.links[k] for k in kept),
        outlets={node: outlet for node, outlet in network.outlets.items() if node in taps},
        demands={node: demand for node, demand in network.demands.items() if node in taps},
    )
    return Part(
        prepared=_prepared(part),
        nodes=np.flatnonzero([node in nodes for node in network.elevation]),
        links=np.array(kept, dtype=np.intp),
        outlets=np.flatnonzero([node in taps for node in network.outlets]),
    )
