"""What cannot be reached by trench, and what stands round it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from rillwright.model.ground import Ground
from rillwright.solvers.routing.graph import Graph, Ints, connected_parts
from rillwright.solvers.routing.surfaces import DigGround

__all__ = ["Unreachable", "find_unreachable"]

TOUCH = 0.05  # [m] an outline this near counts as part of what stands round a place


@dataclass(frozen=True, slots=True)
class Unreachable:
    """An end of a net that no trench can join to the net's root."""

    net: str
    node: str
    surrounded_by: tuple[str, ...]  # kinds of ground that stand in the way
    what: str  # what is wrong and what to do

    def __str__(self) -> str:
        return self.what


class _Net(Protocol):
    @property
    def id(self) -> str: ...
    @property
    def root(self) -> str: ...
    @property
    def terminals(self) -> tuple[str, ...]: ...


def find_unreachable(
    nets: Sequence[_Net], names: Sequence[str], *, graph: Graph, dig: DigGround, ground: Ground
) -> tuple[Unreachable, ...]:
    """List the ends in another part of the graph than their root; no net passes another's point indoors."""
    place = {name: number for number, name in enumerate(names)}
    found, known = [], dict[tuple[int, ...], Ints]()
    for net in nets:
        foreign = np.setdiff1d(graph.indoors, [place[name] for name in (net.root, *net.terminals)])
        closed = tuple(foreign.tolist())
        if closed not in known:
            known[closed] = _parts_without(graph, foreign)
        parts = known[closed]
        for name in net.terminals:
            if parts[place[name]] == parts[place[net.root]]:
                continue
            spots = Point(graph.points[place[name]]), Point(graph.points[place[net.root]])
            areas = [_area(dig, spot) for spot in spots]
            # The smaller of the two grounds is the one that is shut in.
            shut = 0 if areas[0].area <= areas[1].area else 1
            round_it = _surroundings(areas[shut], spots[shut], dig, ground)
            stands = "stands in" if areas[shut].is_empty else "is shut in by"
            what = (
                f"No trench can join '{name}' to '{net.root}': '{(name, net.root)[shut]}' {stands} "
                f"{', '.join(round_it)}. Move it, open a way through, or allow a trench there."
            )
            found.append(Unreachable(net.id, name, round_it, what))
    return tuple(found)


def _parts_without(graph: Graph, closed: Ints) -> Ints:
    """Number of the part of the graph that each node is in when some nodes are closed."""
    if len(closed) == 0:
        return graph.parts
    way = np.isfinite(graph.trench) & ~np.isin(graph.first, closed) & ~np.isin(graph.second, closed)
    return connected_parts(np.column_stack([graph.first, graph.second])[way], len(graph.points))


def _area(dig: DigGround, spot: Point) -> BaseGeometry:
    """Ground joined to a point by free ground; empty when it stands where no trench may go."""
    parts = shapely.get_parts(dig.free)
    near = parts[shapely.distance(parts, spot) <= TOUCH]
    return near[0] if len(near) else shapely.Polygon()


def _surroundings(area: BaseGeometry, spot: Point, dig: DigGround, ground: Ground) -> tuple[str, ...]:
    """Kinds that touch a piece of ground, or in which a point stands."""
    kinds: dict[str, BaseGeometry] = {kind: ground.kinds[kind] for kind in ("building", "water", "keep-out")}
    kinds["tree trunk"] = ground.trunks
    for kind in ("paving", "bed", "lawn"):
        kinds[f"{kind} closed to trenches"] = ground.kinds[kind].difference(dig.free.buffer(TOUCH))
    kinds["roots closed to trenches"] = ground.roots.difference(dig.free.buffer(TOUCH))
    here = spot if area.is_empty else area
    touching = [kind for kind, shape in kinds.items() if not shape.is_empty and shape.distance(here) <= 2 * TOUCH]
    if not area.is_empty and area.boundary.difference(shapely.unary_union(list(kinds.values())).buffer(TOUCH)).length:
        touching.append("the edge of the drawn ground")
    return tuple(touching) or ("ground that is not drawn",)
