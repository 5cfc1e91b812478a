"""What makes a network unfit to be solved, said part by part."""

from collections.abc import Iterable

import numpy as np

from rillwright.errors import InputError
from rillwright.model.network import Link, Network

__all__ = ["check_network", "downstream"]


def check_network(network: Network) -> None:
    """Refuse a network that has no answer, saying what is wrong with which part."""
    nodes = network.elevation
    if network.source not in nodes:
        raise InputError(f"the source '{network.source}' is no node: give its elevation")
    for node, height in nodes.items():
        if not np.isfinite(height):
            raise InputError(f"the elevation of '{node}' is {height}: give a number")
    for what in (network.outlets, network.demands):
        for node in what:
            if node not in nodes:
                raise InputError(f"an outlet or demand stands at '{node}', which is no node: give its elevation")
    for node, demand in network.demands.items():
        if not np.isfinite(demand):
            raise InputError(f"the demand at '{node}' is {demand}: give a number")
    for node, outlet in network.outlets.items():
        if not (outlet.coefficient > 0 and outlet.exponent > 0):
            raise InputError(f"the outlet at '{node}' needs a coefficient and an exponent over 0, not {outlet}")
        if outlet.regulated_to is not None and not outlet.regulated_to > 0:
            raise InputError(f"the outlet at '{node}' must be regulated to a pressure over 0, not {outlet}")
    supply = network.supply
    if not (supply.factor >= 0 and supply.exponent > 0 and np.isfinite(supply.static)):
        raise InputError(f"a supply needs a factor of at least 0 and an exponent over 0, not {supply}")
    _check_links(network)
    _check_connected(network)
    for link in network.links:
        if link.regulated_to is not None:
            _check_regulator(network, link)


def _check_links(network: Network) -> None:
    ids: set[str] = set()
    for link in network.links:
        if link.id in ids:
            raise InputError(f"two links are named '{link.id}': give each its own name")
        ids.add(link.id)
        for end in (link.start, link.end):
            if end not in network.elevation:
                raise InputError(f"link '{link.id}' ends at '{end}', which is no node: give its elevation")
        if link.start == link.end:
            raise InputError(f"link '{link.id}' starts and ends at '{link.start}': leave it out")
        if not (link.bore > 0 and link.length >= 0 and link.roughness >= 0 and link.minor >= 0):
            raise InputError(f"link '{link.id}' needs a bore over 0 and nothing below 0: {link}")
        if link.roughness > 0.1 * link.bore:
            raise InputError(f"link '{link.id}' is rougher than a tenth of its bore, past any friction law: {link}")
        if link.device and not (link.device.factor >= 0 and link.device.threshold >= 0):
            raise InputError(f"the device in link '{link.id}' must not gain pressure: {link.device}")
        if link.pump and not (link.pump.shutoff > 0 and link.pump.factor >= 0 and link.pump.exponent > 0):
            raise InputError(f"the pump in link '{link.id}' needs a gain at no flow that falls with flow: {link.pump}")


def _check_connected(network: Network) -> None:
    reached = downstream(network.source, network.links)
    if cut := [node for node in network.elevation if node not in reached]:
        named = ", ".join(f"'{node}'" for node in cut[:5]) + (" and more" if len(cut) > 5 else "")
        raise InputError(f"no link joins {named} to the source: draw the missing pipe or leave these nodes out")


def _check_regulator(network: Network, link: Link) -> None:
    if not (link.regulated_to is not None and link.regulated_to > 0):
        raise InputError(f"link '{link.id}' must be regulated to a pressure over 0, not {link.regulated_to}")
    behind = downstream(link.end, (other for other in network.links if other is not link))
    if link.start in behind:
        raise InputError(f"the regulator '{link.id}' lies in a loop: move it to where all of the loop's water passes")
    if network.source in behind:
        raise InputError(f"the regulator '{link.id}' points at the source: swap its start and end")


def downstream(node: str, links: Iterable[Link]) -> set[str]:
    """Give the nodes that the links join to a node, itself included."""
    beside: dict[str, list[str]] = {node: []}
    for link in links:
        beside.setdefault(link.start, []).append(link.end)
        beside.setdefault(link.end, []).append(link.start)
    reached, edge = {node}, [node]
    while edge:
        fresh = [other for other in beside[edge.pop()] if other not in reached]
        reached.update(fresh)
        edge.extend(fresh)
    return reached
