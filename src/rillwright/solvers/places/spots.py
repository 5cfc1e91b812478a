"""Spots where a builder would set valves, before any rule of height is asked."""

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry import Point as Dot
from shapely.geometry.base import BaseGeometry

from rillwright.model.ground import Ground
from rillwright.model.site import Yard

__all__ = ["Spot", "candidate_spots", "spread"]

Point = tuple[float, float]

_WALL = 0.45  # [m] off an outside wall
_EDGE = 0.3  # [m] inside a bed or lawn
_MARGIN = 0.1  # [m] kept from what is forbidden
_APART = 0.8  # [m] spots nearer than this are one


@dataclass(frozen=True, slots=True)
class Spot:
    """A possible valve place and why a builder would think of it."""

    at: Point
    reason: str  # 'in the ground', 'held main', 'entry', 'wall', 'bed', 'lawn edge' or 'high ground'


def candidate_spots(ground: Ground, yard: Yard, also: Sequence[Point] = ()) -> list[Spot]:
    """All spots on allowed ground, each at least 0.8 m from the ones before it; the best reasons come first.

    Parameters: also, spots [m] that come before all others.
    """
    allowed = _allowed(ground, yard.water_entry.at)
    shapely.prepare(allowed)
    kept: list[Spot] = []
    near: dict[tuple[int, int], list[Point]] = defaultdict(list)  # those kept, by squares of _APART
    for spot in (*(Spot(at, "held main") for at in also), *_ideas(ground, yard, allowed)):
        x, y = math.floor(spot.at[0] / _APART), math.floor(spot.at[1] / _APART)
        beside = (other for i in (-1, 0, 1) for j in (-1, 0, 1) for other in near.get((x + i, y + j), ()))
        if allowed.covers(Dot(spot.at)) and all(math.dist(spot.at, other) >= _APART for other in beside):
            kept.append(spot)
            near[x, y].append(spot.at)
    return kept


def spread(spots: Sequence[Spot], *, limit: int, ground: Ground, heads: Sequence[Point]) -> list[Point]:
    """Choose at most `limit` spots: those in the ground or held, a few at the entry, the highest ones, then others.

    Of the others always the one farthest from those chosen.
    Distance counts half where no head is near, so that the choice gathers where the water is needed.
    """
    if len(spots) <= limit:
        return [spot.at for spot in spots]
    xy = np.array([spot.at for spot in spots])
    height = ground.terrain.height(xy)
    first = [i for i, spot in enumerate(spots) if spot.reason in ("in the ground", "held main")]
    first += [i for i, spot in enumerate(spots) if spot.reason == "entry"][: limit // 12]
    first += sorted((i for i in range(len(spots)) if i not in first), key=lambda i: (-height[i], i))[: limit // 12]
    high = [i for i, spot in enumerate(spots) if spot.reason == "high ground" and i not in first]
    chosen = (first + high[: limit // 3]) or [0]
    need = np.ones(len(spots))
    if heads:
        gap = cKDTree(heads).query(xy)[0]
        need = np.where(gap > 8.0, 0.5, 1.0)
    nearest = np.linalg.norm(xy[:, None] - xy[chosen][None], axis=2).min(axis=1)
    while len(chosen) < limit:
        best = int(np.argmax(nearest * need))
        chosen.append(best)
        nearest = np.minimum(nearest, np.linalg.norm(xy - xy[best], axis=1))
    return [spots[i].at for i in chosen]


def _allowed(ground: Ground, entry: Point) -> BaseGeometry:
    """Lawn, beds, and the bare strip along walls and round the entry, less all forbidden ground."""
    kinds = ground.kinds
    soft = shapely.unary_union([kinds["lawn"], kinds["bed"], kinds["building"].buffer(0.7), Dot(entry).buffer(1.6)])
    hard = [kinds[kind] for kind in ("paving", "water", "keep-out", "building")] + [ground.trunks]
    return soft.difference(shapely.unary_union(hard).buffer(_MARGIN))


def _ideas(ground: Ground, yard: Yard, allowed: BaseGeometry) -> Iterator[Spot]:
    entry = yard.water_entry.at
    yield from (Spot(place.at, "in the ground") for place in yard.existing.places)
    mains = [pin.path for pin in yard.pins.pipes if pin.role == "main"]
    yield from (Spot(at, "held main") for path in mains for at in (path[0], path[-1]) if math.dist(at, entry) > _APART)
    yield Spot(entry, "entry")
    for radius in (0.6, 1.2):
        for turn in range(8):
            angle = math.pi / 4 * turn
            yield Spot((entry[0] + radius * math.cos(angle), entry[1] + radius * math.sin(angle)), "entry")
    for lawn in ground.lawns.values():
        yield from (Spot(at, "high ground") for at in _highest(ground, lawn.buffer(3.0).intersection(allowed)))
    walls = ground.kinds["building"].buffer(_WALL, join_style="mitre").boundary
    yield from (Spot(at, "wall") for at in _along(walls, 2.5))
    yield from (Spot(at, "bed") for at in _along(_inside(ground.kinds["bed"]), 2.5))
    yield from (Spot(at, "lawn edge") for at in _along(_inside(ground.kinds["lawn"]), 3.0))


def _inside(shape: BaseGeometry) -> BaseGeometry:
    """Line a little inside each polygon; the middle of a polygon too narrow for that."""
    lines = []
    for part in getattr(shape, "geoms", [shape]):
        inner = part.buffer(-_EDGE)
        lines.append(inner.boundary if not inner.is_empty else part.representative_point())
    return shapely.unary_union(lines)


def _along(line: BaseGeometry, step: float) -> Iterator[Point]:
    for part in getattr(line, "geoms", [line]):
        if part.is_empty:
            continue
        if part.geom_type == "Point":
            yield (float(part.x), float(part.y))
            continue
        count = max(1, round(part.length / step))
        for i in range(count):
            at = part.interpolate(i / count, normalized=True)
            yield (round(float(at.x), 3), round(float(at.y), 3))


def _highest(ground: Ground, near: BaseGeometry, *, count: int = 3, apart: float = 3.0) -> list[Point]:
    """Highest points on and beside a lawn, some metres apart; none on level ground."""
    if near.is_empty:
        return []
    low_x, low_y, high_x, high_y = near.bounds
    step = max(0.5, math.sqrt((high_x - low_x) * (high_y - low_y) / 2000))
    xs, ys = np.arange(low_x + _MARGIN, high_x, step), np.arange(low_y + _MARGIN, high_y, step)
    xy = np.stack(np.meshgrid(xs, ys, indexing="ij"), axis=2).reshape(-1, 2)
    xy = xy[shapely.intersects_xy(near, xy[:, 0], xy[:, 1])]
    if len(xy) == 0:
        return []
    height = ground.terrain.height(xy)
    if np.ptp(height) < 0.05:
        return []
    chosen: list[Point] = []
    for i in np.lexsort((xy[:, 1], xy[:, 0], -np.round(height, 3))):
        at = (round(float(xy[i, 0]), 3), round(float(xy[i, 1]), 3))
        if all(math.dist(at, other) >= apart for other in chosen):
            chosen.append(at)
        if len(chosen) == count:
            break
    return chosen
