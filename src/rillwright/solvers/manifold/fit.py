"""Whether a manifold fits the room that it is given, and how it lies there.

Statement. The manifold, seen from above, is a union of rectangles; each, grown by the clearance that hands need, must
lie in the rectangle of the space and meet no obstacle: what a door sweeps, and the room before a hose tap. It may be
turned by quarters and pushed anywhere.

Method. For a turn, the pushes at which the manifold meets an obstacle are the Minkowski sum of the obstacle and the
mirrored manifold; obstacles are circles, so that is the mirrored manifold at the circle's centre, grown by its radius.
What is left of the rectangle of pushes is free. Arcs are drawn by 64 sides to a circle, outside it. `spare` is how much
further everything may be grown, by bisection to 0.5 mm; the turn with the most is taken. No randomness.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely.affinity import translate
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from rillwright.model.manifold import Space

__all__ = ["TAP_ROOM", "Laid", "lay_in"]

TAP_ROOM = 0.30  # [m] round a hose tap, for bucket and hose; judgement
_FINEST = 5e-4  # [m]
_ROUND = 1 / math.cos(math.pi / 64)  # radius of a polygon of 64 sides round a circle, over the circle's
_LEAST = 1e-9  # [m] of play: a manifold may fill its space
_TURNS: tuple[Literal[0, 90, 180, 270], ...] = (0, 90, 180, 270)

Rect = tuple[float, float, float, float]  # [m] least x, least y, greatest x, greatest y


@dataclass(frozen=True, slots=True)
class Laid:
    """How it lies."""

    turned: Literal[0, 90, 180, 270]  # [°]
    at: tuple[float, float]  # [m] of its own origin
    spare: float  # [m] that it may grow on every side; less than 0: short by so much


def lay_in(parts: Sequence[Rect], space: Space, *, clear: float) -> Laid:
    """Lay a manifold in a space.

    Parameters: parts, rectangles it covers [m]; space; clear [m], room round each part.
    Returns: the turn with the most to spare; where none fits, the one that lacks least.
    """
    tried = [_turned(parts, turn, space, clear) for turn in _TURNS]
    return max(tried, key=lambda laid: (round(laid.spare, 6), -laid.turned))


def _turned(parts: Sequence[Rect], turn: Literal[0, 90, 180, 270], space: Space, clear: float) -> Laid:
    """The most that everything may be grown under one turn; what meets an obstacle even bare lacks the clearance."""
    own = [_rotated(part, turn) for part in parts]
    spare = _room(own, space, clear)
    if spare < -clear:
        return Laid(turn, (0.0, 0.0), spare)
    if _free(own, space, clear + spare).is_empty:
        low, high = -clear, spare
        while high - low > _FINEST:
            middle = (low + high) / 2
            low, high = (low, middle) if _free(own, space, clear + middle).is_empty else (middle, high)
        spare = low
    free = _free(own, space, clear + spare)
    spot = Point(0, 0) if free.is_empty else free.representative_point()
    return Laid(turn, (spot.x, spot.y), spare)


def _rotated(part: Rect, turn: int) -> Rect:
    cos, sin = round(math.cos(math.radians(turn))), round(math.sin(math.radians(turn)))
    corners = [(x * cos - y * sin, x * sin + y * cos) for x in part[::2] for y in part[1::2]]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


def _room(parts: Sequence[Rect], space: Space, clear: float) -> float:
    """What is to spare [m] in the bare rectangle."""
    wide = max(r[2] for r in parts) - min(r[0] for r in parts)
    high = max(r[3] for r in parts) - min(r[1] for r in parts)
    walled = math.inf if space.wall is None else space.width - high - space.wall - clear
    return min((space.length - wide) / 2 - clear, (space.width - high) / 2 - clear, walled)


def _free(parts: Sequence[Rect], space: Space, clear: float) -> BaseGeometry:
    """Pushes at which the parts, grown by the clearance, lie in the space and meet nothing."""
    wall = 0.0 if space.wall is None else max(space.wall - clear, 0.0)
    least = (max(clear - r[0] for r in parts), max(clear + wall - r[1] for r in parts))
    most = (min(space.length - clear - r[2] for r in parts), min(space.width - clear - r[3] for r in parts))
    if most[0] < least[0] - _LEAST or most[1] < least[1] - _LEAST:
        return Polygon()
    area = box(least[0] - _LEAST, least[1] - _LEAST, most[0] + _LEAST, most[1] + _LEAST)
    circles = [(door.x, door.y, door.radius) for door in space.doors] + [(x, y, TAP_ROOM) for x, y in space.taps]
    if not circles:
        return area
    mirrored = shapely.union_all([box(-r[2] - clear, -r[3] - clear, clear - r[0], clear - r[1]) for r in parts])
    taken = [translate(mirrored, x, y).buffer(radius * _ROUND, quad_segs=16) for x, y, radius in circles]
    return shapely.difference(area, shapely.union_all(taken))
