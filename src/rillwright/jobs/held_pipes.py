"""Pipes that the user holds fast: which net must follow which, and what of them is left out."""

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
import shapely
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial.distance import cdist
from shapely.geometry import LineString

from rillwright.model.ground import Ground
from rillwright.model.pin_rules import outdoors
from rillwright.model.plan import Head, Pipe, Point
from rillwright.model.site import Yard
from rillwright.solvers.routing import Held

__all__ = ["UNLAID", "held_by_net", "unlaid"]

UNLAID = 1000.0  # [currency/m] of held pipe left out, so that no search saves money by it; judgement, ranks only
_TOUCH = 1e-6  # [m] for no distance, which a spanning tree would take for no way


def held_by_net(
    yard: Yard, ground: Ground, members: Mapping[str, Sequence[Head]], home: Mapping[str, Point]
) -> dict[str, tuple[Held, ...]]:
    """The lines that each net must follow: the main's, and those of each zone's laterals.

    A lateral is of the zone of the heads that its pin names; else of the zone to which it saves most other pipe.
    Parameters: members, heads by zone; home, the valve place [m] of each zone.
    """
    zone_of = {head.pin: zone for zone, heads in members.items() for head in heads if head.pin is not None}
    ends = {zone: (home[zone], *(head.at for head in heads)) for zone, heads in members.items()}
    found: dict[str, tuple[Held, ...]] = {}
    for pin in yard.pins.pipes:
        line = outdoors(pin.path, ground)
        if line is None:
            continue
        named = [zone_of[name] for name in pin.heads if name in zone_of]
        path = tuple((float(x), float(y)) for x, y in line.coords)
        if pin.role == "main":
            net = "main"
        else:
            net = named[0] if named else min(ends, key=lambda zone: _extra(path, ends[zone]))
        found[net] = (*found.get(net, ()), Held(pin.id, path))
    return found


def unlaid(pipes: Sequence[Pipe], yard: Yard, ground: Ground) -> float:
    """Length [m] of held pipe that some pipes leave out."""
    laid: dict[str, float] = {}
    for pipe in pipes:
        if pipe.pin is not None:
            laid[pipe.pin] = laid.get(pipe.pin, 0.0) + pipe.length
    lines = {pin.id: outdoors(pin.path, ground) for pin in yard.pins.pipes}
    return float(sum(max(0.0, line.length - laid.get(name, 0.0)) for name, line in lines.items() if line is not None))


@lru_cache(maxsize=20_000)
def _extra(path: tuple[Point, ...], ends: tuple[Point, ...]) -> float:
    """What the spanning tree of a zone's place and heads grows by [m] with a line free; less than 0: it shrinks."""
    apart = cdist(ends, ends)
    beside = shapely.distance(LineString(path), shapely.points(ends))
    joined = np.block([[apart, beside[:, None]], [beside, np.zeros((1, 1))]])
    before, after = (minimum_spanning_tree(np.maximum(each, _TOUCH)).sum() for each in (apart, joined))
    return float(after - before)
