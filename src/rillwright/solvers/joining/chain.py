"""The cheapest chain of fittings from one open mouth to another.

A graph whose nodes are (mouth that stands open, bends and unions passed so far). A fitting of two mouths is an edge
from each mouth that one of its own fits to the other; it costs its price and what closes the joint made. Elbows and
unions are taken only where they are called for, in their order. Least cost by Dijkstra's method; of equal ones the
fewest parts, then the first on the shelf. Prices are never below 0, so the chain found is the cheapest there is; where
the search ends without the wanted mouth no chain exists. Tested against enumeration of all short chains.
"""

import heapq
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import count

from rillwright.model.fittings import Body, Fitting, Mouth, nominal

__all__ = ["CALLED_FOR", "Chain", "Ways", "all_ways", "connectors"]

CALLED_FOR: tuple[Body, ...] = ("elbow", "elbow 45", "union")  # bodies that no chain holds unless it must
_CONNECTORS: tuple[Body, ...] = (*CALLED_FOR, "coupling", "reducer", "bushing", "adapter", "nipple", "piece of pipe")


@dataclass(frozen=True, slots=True)
class Chain:
    """Fittings from one end to another, the joints between them not yet that to the other end."""

    price: float  # [currency]
    fittings: tuple[Fitting, ...]
    joints: tuple[Mouth, ...]  # one mouth of each joint made
    length: float  # [m] from the first joint to the last


_NEVER = (math.inf, 0)

Ways = Mapping[Mouth, Chain]  # by the mouth that stands open at their far end


def connectors(fittings: Iterable[Fitting]) -> dict[Mouth, list[tuple[Fitting, int, int]]]:
    """Fittings of two mouths by the open mouth that they can be put on, with the number of the mouth in and out."""
    found: dict[Mouth, list[tuple[Fitting, int, int]]] = {}
    for fitting in fittings:
        if fitting.body in _CONNECTORS and len(fitting.mouths) == 2:
            for near, far in ((0, 1), (1, 0)):
                found.setdefault(fitting.mouths[near].mate, []).append((fitting, near, far))
                if fitting.mouths[0] == fitting.mouths[1]:
                    break
    return found


def all_ways(
    ends: Sequence[Mouth],
    via: tuple[Body, ...],
    *,
    on: Mapping[Mouth, Sequence[tuple[Fitting, int, int]]],
    closing: Mapping[Mouth, float],
    floor: float = 0.0,
) -> Ways:
    """The cheapest chain from an end to every mouth that can be made to stand open.

    Parameters: ends, the ways in which the end may be joined; via, elbows and unions that the chain must hold, in
    order; on, the fittings that can be put on each mouth; closing, what a joint at each mouth takes [currency]; floor,
    the nominal width [m] that no part of the chain may fall below: a chain that throttles the pipe is no way on.
    Returns: chains by open mouth; the end itself, with no fittings, where nothing is called for.
    """
    best: dict[tuple[Mouth, int], Chain] = {}
    least: dict[tuple[Mouth, int], tuple[float, int]] = {}  # price and parts of what waits
    order = count()
    heap: list[tuple[float, int, int, Mouth, int, Chain]] = []
    for mouth in ends:
        heapq.heappush(heap, (0.0, 0, next(order), mouth, 0, Chain(0.0, (), (), 0.0)))
    while heap:
        price, parts, _, mouth, passed, chain = heapq.heappop(heap)
        if (mouth, passed) in best:
            continue
        best[mouth, passed] = chain
        for fitting, _, far in on.get(mouth, ()):
            there = passed
            if nominal(fitting.mouths[far].size) < floor:
                continue
            if fitting.body in CALLED_FOR:
                if passed == len(via) or via[passed] != fitting.body:
                    continue
                there += 1
            key = (fitting.mouths[far], there)
            cost = (price + (fitting.price or 0.0) + closing[mouth], parts + 1)
            if key in best or cost >= least.get(key, _NEVER):
                continue
            least[key] = cost
            fittings, joints = (*chain.fittings, fitting), (*chain.joints, mouth)
            longer = Chain(cost[0], fittings, joints, chain.length + sum(fitting.takeoffs))
            heapq.heappush(heap, (*cost, next(order), *key, longer))
    return {mouth: chain for (mouth, passed), chain in best.items() if passed == len(via)}
