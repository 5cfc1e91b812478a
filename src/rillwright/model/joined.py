"""Lawns that touch and are alike: they are watered as one surface, with no row of heads along the edge between them."""

from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Point, Polygon

from rillwright.model.site import GroundArea, Yard
from rillwright.model.terrain import Terrain

__all__ = ["BANK", "bank_at", "joined", "nearest", "sampled", "united"]

BANK = 0.08  # [m/m] slope from which ground counts as a bank
_TOUCH = 0.02  # [m] between two lawns that count as touching, by the error of drawing
_LEAST_EDGE = 1.0  # [m] of edge that two lawns must share
_STRIP = 3.0  # [m] a lawn nowhere wider is a strip, which wants heads of its own; common practice, no source

Shape: TypeAlias = Polygon | MultiPolygon


def joined(yard: Yard, lawns: Mapping[str, Shape], terrain: Terrain) -> dict[str, tuple[str, ...]]:
    """Name the surfaces that a yard's lawns make, each with its lawns, in file order.

    Parameters: lawns, as they lie, by id. Two lawns are watered as one when they share a metre of edge and are alike in
    exposure, planting, phase, head classes and slope, unless one is a strip or heads that stand there are of unlike
    classes.
    """
    import networkx as nx  # takes a seventh of a second to import

    areas = {area.id: area for area in yard.lawns}
    links = nx.Graph()
    links.add_nodes_from(areas)
    near = (pair for pair in combinations(areas, 2) if _touch(*(lawns[name] for name in pair)))
    links.add_edges_from(
        (one, other)
        for one, other in near
        if _kind(areas[one]) == _kind(areas[other])
        and not any(_strip(lawns[name]) for name in (one, other))
        and bank_at(lawns[one], terrain) == bank_at(lawns[other], terrain)
    )
    found: list[tuple[str, ...]] = []
    for group in nx.connected_components(links):
        names = tuple(name for name in areas if name in group)
        found += [names] if len(_standing(names, yard, lawns)) < 2 else [(name,) for name in names]
    return {" and ".join(names): names for names in sorted(found, key=lambda names: list(areas).index(names[0]))}


def nearest(at: Point, lawns: Mapping[str, Shape]) -> str:
    """The lawn that a point stands on or nearest to."""
    return min(lawns, key=lambda name: lawns[name].distance(at))


def united(shapes: Sequence[Shape]) -> Shape:
    """One shape of touching lawns, without the hair between them."""
    if len(shapes) == 1:
        return shapes[0]
    half = _TOUCH / 2
    whole = shapely.unary_union([shape.buffer(half, join_style="mitre") for shape in shapes])
    return whole.buffer(-half, join_style="mitre")


def sampled(shape: Shape) -> NDArray[np.float64]:
    """Points (n, 2) [m] spread evenly over a shape, about 2,000 in the box round it; at least one."""
    low_x, low_y, high_x, high_y = shape.bounds
    step = max(0.5, np.sqrt((high_x - low_x) * (high_y - low_y) / 2000))
    x, y = np.meshgrid(np.arange(low_x + step / 2, high_x, step), np.arange(low_y + step / 2, high_y, step))
    inside = np.asarray(shapely.contains_xy(shape, x, y))
    spots = np.column_stack((x[inside], y[inside]))
    return spots if len(spots) else shapely.get_coordinates(shape.representative_point())


def bank_at(shape: Shape, terrain: Terrain) -> bool:
    """Whether most of a lawn is a bank."""
    return bool((terrain.slope(sampled(shape)) >= BANK).mean() > 0.5)


def _touch(one: Shape, other: Shape) -> bool:
    if one.is_empty or other.is_empty or one.distance(other) > _TOUCH:
        return False
    return bool(one.boundary.intersection(other.buffer(_TOUCH)).length >= _LEAST_EDGE)


def _kind(area: GroundArea) -> tuple[object, ...]:
    return area.exposure, area.planting, area.phase, area.head_classes and sorted(area.head_classes)


def _strip(shape: Shape) -> bool:
    parts = shapely.get_parts(shape)
    return max(2 * float(shapely.maximum_inscribed_circle(part).length) for part in parts) <= _STRIP


def _standing(names: Sequence[str], yard: Yard, lawns: Mapping[str, Shape]) -> set[str]:
    """Classes of the heads that are held on some lawns, or in the ground there."""
    heads = [(Point(pin.at), pin.head_class) for pin in yard.pins.heads]
    heads += [(Point(head.at), head.head_class) for head in yard.existing.heads]
    return {head_class for at, head_class in heads if nearest(at, lawns) in names}
