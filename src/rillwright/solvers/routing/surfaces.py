"""What a straight stretch of trench costs, and where none may go."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from rillwright.errors import InputError
from rillwright.model.ground import Ground
from rillwright.model.parts import TrenchCost
from rillwright.model.plan import Point

__all__ = ["DigGround", "Floats", "Layer", "dig_ground"]

Floats = NDArray[np.float64]

EDGE = 0.001  # [m] a trench this close to an outline runs along it, not across it
ROUNDING = 0.01  # [m] to which the outline of a surface counts in prices
SEAM = 0.02  # [m] by which a surface reaches over its outline where no cheaper ground lies
LEAST_PIECE = 0.05  # [m] shorter overlaps with a surface are drawing noise, not a crossing
GAP = 1.0  # [m] half the widest undrawn gap between drawn areas that still counts as part of the yard


@dataclass(frozen=True, slots=True)
class Layer:
    """One surface: its shape and what a trench in it costs."""

    name: str
    shape: BaseGeometry
    per_metre: float  # [currency/m]
    per_crossing: float  # [currency]


@dataclass(frozen=True, slots=True)
class DigGround:
    """Ground for trenches. Stretches that lie in no layer are in the base surface."""

    free: BaseGeometry  # where a trench may go
    indoors: BaseGeometry  # buildings
    wall: BaseGeometry  # where none may go, drawn in by EDGE so that a trench may follow an outline
    base: Layer
    layers: tuple[Layer, ...]

    def clear(self, segments: NDArray[np.object_]) -> NDArray[np.bool_]:
        """Say for each line whether it stays off everything a trench may not enter."""
        return np.asarray(~shapely.intersects(self.wall, segments))

    def price(self, segments: NDArray[np.object_]) -> Floats:
        """Cost of a trench along each straight line [currency], each crossing charged.

        Along a seam a line can lie in two surfaces; it is then priced as it is cut into pieces.
        """
        long = shapely.length(segments)
        total, covered = long * self.base.per_metre, np.zeros(len(long))
        for layer in self.layers:
            hit = np.flatnonzero(shapely.intersects(layer.shape, segments))
            if len(hit) == 0:
                continue
            parts, owner = shapely.get_parts(shapely.intersection(layer.shape, segments[hit]), return_index=True)
            lengths = shapely.length(parts)
            counted = lengths > LEAST_PIECE
            extra = lengths * (layer.per_metre - self.base.per_metre) + layer.per_crossing
            np.add.at(total, hit[owner[counted]], extra[counted])
            np.add.at(covered, hit[owner[counted]], lengths[counted])
        for twice in np.flatnonzero(covered > long + EDGE):
            total[twice] = self._cut_price(*segments[twice].coords)
        return np.asarray(total, dtype=float)

    def _cut_price(self, start: Point, end: Point) -> float:
        pieces = self.pieces(start, end)
        return sum((high - low) * layer.per_metre + layer.per_crossing for layer, low, high in pieces)

    def pieces(self, start: Point, end: Point) -> list[tuple[Layer, float, float]]:
        """Surfaces along a straight line: (layer, from, to) as distances [m] from the start, in order."""
        line = LineString((start, end))
        found: list[tuple[float, float, Layer]] = []
        for layer in self.layers:
            for part in shapely.get_parts(line.intersection(layer.shape)):
                if part.length > LEAST_PIECE:
                    ends = sorted(line.project(shapely.Point(c)) for c in (part.coords[0], part.coords[-1]))
                    found.append((ends[0], ends[1], layer))
        result: list[tuple[Layer, float, float]] = []
        done = 0.0
        for low, high, layer in sorted(found, key=lambda item: item[0]):
            if low - done > LEAST_PIECE:
                result.append((self.base, done, low))
                done = low
            if high - done > LEAST_PIECE or not result:
                result.append((layer, done, high))
                done = high
        if line.length - done > LEAST_PIECE or not result:
            result.append((self.base, done, line.length))
        else:
            layer, low, _ = result[-1]
            result[-1] = (layer, low, line.length)
        return result


def dig_ground(
    ground: Ground, costs: Mapping[str, TrenchCost], *, points: Iterable[Point] = (), whole_hull: bool = False
) -> DigGround:
    """Resolve which ground a trench may use and what it costs there.

    Parameters: ground; costs by surface; points [m] that have to be reached, so that one off the drawn ground gets
    a corridor to it; whole_hull, to dig in all undrawn ground between drawn areas, not in gaps up to 2 m only.
    """
    shapes = _surface_shapes(ground, costs)
    drawn = shapely.unary_union([shape for kind, shape in ground.kinds.items() if kind != "roots"])
    site = drawn.convex_hull if whole_hull else drawn.buffer(GAP, join_style="mitre").buffer(-GAP, join_style="mitre")
    site = shapely.unary_union([site, drawn, *_corridors(site, points)])
    forbidden = [shape for name, shape in shapes.items() if _cost(costs, name).per_metre is None]
    undrawn = site.difference(drawn)
    blocked = shapely.unary_union([ground.no_trench, *forbidden])
    if _cost(costs, "ground").per_metre is None:
        blocked = blocked.union(undrawn)
    elif undrawn.area > 0:
        shapes["ground"] = undrawn
    free = _areas(site.difference(blocked))
    layers = _layers({name: shape.intersection(free) for name, shape in shapes.items()}, costs)
    plain = [layer for layer in layers if layer.per_crossing == 0] or layers
    if not plain:
        raise InputError("No ground may be dug: every drawn surface is a building, water, keep-out or has no price.")
    base = max(plain, key=lambda layer: layer.shape.area)
    rest = tuple(layer for layer in layers if layer is not base)
    wall = site.envelope.buffer(GAP, join_style="mitre").difference(free).buffer(-EDGE)
    for shape in (wall, *(layer.shape for layer in rest)):
        shapely.prepare(shape)
    return DigGround(free, ground.kinds["building"], wall, base, rest)


def _layers(shapes: Mapping[str, BaseGeometry], costs: Mapping[str, TrenchCost]) -> list[Layer]:
    """Surfaces with their prices. A trench along the line between two is in the cheaper one.

    So each surface is drawn in from cheaper ones, and reaches a little over walls and the edge of the yard: no
    seam is left there that a trench could slip through.
    """
    priced = [
        (price.per_metre, price.per_crossing, name, shape)
        for name, shape in shapes.items()
        if (price := _cost(costs, name)).per_metre is not None
    ]
    layers = []
    cheaper: BaseGeometry = Polygon()
    for per_metre, per_crossing, name, shape in sorted(priced, key=lambda item: item[:2]):
        grown = shape.buffer(SEAM, join_style="mitre").difference(cheaper)
        drawn = grown.buffer(-EDGE, join_style="mitre").simplify(ROUNDING)
        cheaper = cheaper.union(shape)
        if not drawn.is_empty:
            layers.append(Layer(name, drawn, per_metre, per_crossing))
    return layers


def _cost(costs: Mapping[str, TrenchCost], surface: str) -> TrenchCost:
    if surface not in costs:
        known = ", ".join(sorted(costs))
        raise InputError(f"The trench costs have no row for '{surface}' (rows: {known}). Add one to the trench table.")
    return costs[surface]


def _surface_shapes(ground: Ground, costs: Mapping[str, TrenchCost]) -> dict[str, BaseGeometry]:
    """Surfaces that do not overlap: roots count over lawn and bed, paving over roots unless roots are forbidden."""
    roots = ground.roots
    shapes: dict[str, BaseGeometry] = {}
    for kind in ("lawn", "bed", "paving"):
        shape = ground.kinds[kind]
        if kind != "paving" or (not roots.is_empty and _cost(costs, "roots").per_metre is None):
            shape = shape.difference(roots)
        if not shape.is_empty:
            shapes[kind] = shape
    if "paving" in shapes:
        roots = roots.difference(shapes["paving"])
    if not roots.is_empty:
        shapes["roots"] = roots
    return shapes


def _corridors(site: BaseGeometry, points: Iterable[Point]) -> list[BaseGeometry]:
    """Strips one metre wide from points off the site to the site."""
    outside = MultiPoint(list(points)).difference(site.buffer(EDGE))
    pairs: Sequence[BaseGeometry] = [p for p in shapely.get_parts(outside) if not p.is_empty]
    return [LineString(nearest_points(point, site)).buffer(GAP / 2) for point in pairs]


def _areas(shape: BaseGeometry) -> BaseGeometry:
    """Keep the polygons of a shape."""
    return shapely.unary_union([part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"])
