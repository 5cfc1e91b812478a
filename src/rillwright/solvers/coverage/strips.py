"""First layouts of strip patterns: the lawn cut into straight legs, heads in rows along each."""

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Polygon

from rillwright.solvers.coverage.arcs import Stand
from rillwright.solvers.coverage.kit import Kit, Throw

__all__ = ["Leg", "legs_of", "strip_starts"]

Floats = NDArray[np.float64]

_STRAIGHT = 0.85  # least share of its enclosing rectangle that a leg fills
_MOST_CUTS = 12
_OVERLAPS = (1.0, 0.85, 0.7, 0.5)  # spacing as a share of the strip's length


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight piece of a narrow lawn, as the rectangle round it."""

    corner: Floats  # (2,) [m] one end of the right-hand long side
    along: Floats  # (2,) unit vector of the long side
    across: Floats  # (2,) unit vector to the left of it
    length: float  # [m]
    width: float  # [m]

    def at(self, along: float, across: float) -> tuple[float, float]:
        """Point [m] at distances [m] along and across."""
        spot = self.corner + along * self.along + across * self.across
        return float(spot[0]), float(spot[1])

    @property
    def direction(self) -> float:
        """Direction of the long side [°]."""
        return math.degrees(math.atan2(self.along[1], self.along[0]))


def legs_of(lawn: Polygon | MultiPolygon) -> list[Leg]:
    """Cut a lawn at its inside corners, where it bends, until every piece is straight or no cut helps."""
    return [_leg(piece) for part in shapely.get_parts(lawn) for piece in _straight(part, _MOST_CUTS)]


def _straight(part: Polygon, cuts: int) -> list[Polygon]:
    plain = part.simplify(0.15)
    fill = _filled(plain)
    if fill >= _STRAIGHT or cuts == 0:
        return [part]
    best: tuple[float, list[Polygon]] = (fill + 0.05, [])
    for line in _cuts(plain):
        pieces = [p for p in shapely.get_parts(shapely.ops.split(plain, line)) if p.area > 0.05]
        if len(pieces) > 1 or (len(pieces) == 1 and len(pieces[0].interiors) < len(plain.interiors)):
            boxes = sum(shapely.minimum_rotated_rectangle(p).area for p in pieces)
            value = sum(p.area for p in pieces) / boxes
            if value > best[0]:
                best = value, pieces
    return [leg for piece in best[1] for leg in _straight(piece, cuts - 1)] or [part]


def _filled(part: Polygon) -> float:
    return float(part.area / max(shapely.minimum_rotated_rectangle(part).area, 1e-9))


def _cuts(part: Polygon) -> list[LineString]:
    """Lines that run on from an edge at an inside corner, through the lawn."""
    lines = []
    far = 2 * math.hypot(part.bounds[2] - part.bounds[0], part.bounds[3] - part.bounds[1])
    for ring in (shapely.geometry.polygon.orient(part).exterior, *shapely.geometry.polygon.orient(part).interiors):
        corners = np.asarray(ring.coords)[:-1]
        side = np.roll(corners, -1, axis=0) - corners
        before = np.roll(side, 1, axis=0)
        inward = before[:, 0] * side[:, 1] - before[:, 1] * side[:, 0] < -1e-6
        for corner, into, out in zip(corners[inward], before[inward], side[inward], strict=True):
            for way in (into, -out):
                unit = way / max(float(np.hypot(*way)), 1e-9)
                ray = LineString([corner - 1e-6 * unit, corner + far * unit]).intersection(part.buffer(1e-6))
                near = min(shapely.get_parts(ray), key=shapely.Point(corner).distance)
                if near.geom_type == "LineString" and near.length > 0.05:
                    lines.append(shapely.affinity.scale(near, 1 + 1e-3, 1 + 1e-3))
    return lines


def _leg(piece: Polygon) -> Leg:
    box = np.asarray(shapely.geometry.polygon.orient(shapely.minimum_rotated_rectangle(piece)).exterior.coords)
    first, second = box[1] - box[0], box[2] - box[1]
    start, along, across = (
        (box[0], first, second) if np.hypot(*first) >= np.hypot(*second) else (box[1], second, -first)
    )
    length, width = float(np.hypot(*along)), float(np.hypot(*across))
    return Leg(start, along / length, across / max(width, 1e-9), length, width)


def strip_starts(kit: Kit, lawn: Polygon | MultiPolygon, ground: Polygon | MultiPolygon) -> list[list[Stand]]:
    """First layouts: every way of setting rows of strip patterns along the legs, the same way in all of them.

    Parameters: ground where heads may stand.
    """
    legs = legs_of(lawn)
    rows = ("middle", "right side", "left side", "both sides", "both sides, staggered")
    widths = sorted({throw.nozzle.width for throw in kit.throws})
    starts = [
        [_onto(ground, stand) for leg in legs for stand in _row(leg, kit, row, width, overlap)]
        for row in rows
        for width in widths
        for overlap in _OVERLAPS
    ]
    return [start for start in starts if start]


def _row(leg: Leg, kit: Kit, row: str, width: float, overlap: float) -> list[Stand]:
    if row == "middle":
        return _middle_row(leg, kit, width, overlap)
    stands: list[Stand] = []
    if row != "left side":
        stands += _side_row(leg, kit, width, overlap, left=False, shift=0.0)
    if row != "right side":
        stands += _side_row(leg, kit, width, overlap, left=True, shift=0.5 if "staggered" in row else 0.0)
    return stands


def _of(kit: Kit, pattern: str, width: float) -> list[Throw]:
    return [throw for throw in kit.throws if throw.nozzle.pattern == pattern and throw.nozzle.width == width]


def _side_row(leg: Leg, kit: Kit, width: float, overlap: float, *, left: bool, shift: float) -> list[Stand]:
    throws = _of(kit, "side strip", width)
    if not throws:
        return []
    count = max(1, math.ceil(leg.length / (throws[-1].radius * overlap) - 0.1))
    spacing = leg.length / count
    throw = min(throws, key=lambda t: abs(t.radius - spacing / overlap))
    across = leg.width if left else 0.0
    direction = (leg.direction + (180.0 if left else 0.0)) % 360
    places = (np.arange(count + (1 if shift else 0)) + 0.5 - shift) * spacing
    return [Stand(leg.at(float(place), across), throw, direction, 0.0, throw.radius) for place in places]


def _middle_row(leg: Leg, kit: Kit, width: float, overlap: float) -> list[Stand]:
    """End strips at both ends, centre strips between them; or centre strips alone in a short leg."""
    ends, centres = _of(kit, "end strip", width), _of(kit, "centre strip", width)
    if not centres:
        return []
    half = leg.width / 2
    full = centres[-1].radius
    if not ends or leg.length < 0.75 * full:
        centre = min(centres, key=lambda t: abs(t.radius - leg.length))
        return [Stand(leg.at(leg.length / 2, half), centre, leg.direction % 360, 0.0, centre.radius)]
    count = max(1, math.ceil(leg.length / (full * overlap) - 0.1))
    spacing = leg.length / count
    centre = min(centres, key=lambda t: abs(t.radius - spacing / overlap))
    end = min(ends, key=lambda t: abs(t.radius - spacing / overlap / 2))
    stands = [
        Stand(leg.at(0.0, half), end, leg.direction % 360, 0.0, end.radius),
        Stand(leg.at(leg.length, half), end, (leg.direction + 180) % 360, 0.0, end.radius),
    ]
    places = np.arange(1, count) * spacing
    return stands + [
        Stand(leg.at(float(place), half), centre, leg.direction % 360, 0.0, centre.radius) for place in places
    ]


def _onto(ground: Polygon | MultiPolygon, stand: Stand) -> Stand:
    """Move a head to the nearest point where heads may stand."""
    point = shapely.Point(stand.at)
    if ground.covers(point):
        return stand
    near = shapely.ops.nearest_points(ground, point)[0]
    return replace(stand, at=(float(near.x), float(near.y)))
