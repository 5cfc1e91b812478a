"""Two taped distances by which a place is found again: from the two corners whose circles cross best.

Statement. Given a place, points that a tape can be held to, and what a tape cannot go through, choose two points in
sight of the place for which the place found again has the least standard error. With unit vectors u, v from the two
points to the place and independent errors s, t of the distances, the linearised place has the covariance
J⁻¹ diag(s², t²) J⁻ᵀ, J with rows u and v; the square root of its trace is

    error = sqrt(s² + t²) / |sin θ|,   θ the angle at which the two circles cross.

Circles cross in two places, mirrored on the line of the two points; `mirrored` gives the other one, so that words can
tell them apart. All pairs are tried.

Beside a wall the circles of its two corners hardly cross. There a place is told by a distance s along the wall and one,
o, square off it, with error = sqrt(s² + o²) of these errors and of o times what a square is
off by eye. Source: propagation of errors in two-distance fixes, plane surveying, from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

__all__ = [
    "SQUARE_ERROR",
    "TAPE_ERROR",
    "TAPE_STRETCH",
    "Beside",
    "Fix",
    "bearing",
    "best_fix",
    "best_wall",
    "fix_error",
    "mirrored",
    "tape_error",
]

TAPE_ERROR = 0.01  # [m] standard error of a tape held level and taut at a corner; judgement
TAPE_STRETCH = 0.002  # of the distance: sag and slope; judgement
LONGEST_TAPE = 50.0  # [m]
SQUARE_REACH = 4.0  # [m] off a wall to which a square by eye or triangle serves; judgement
SQUARE_ERROR = 0.03  # [rad] standard error of such a square; judgement
GRAZE = 0.05  # [m] by which a tape may touch what it cannot go through

Point = tuple[float, float]
_WINDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True, slots=True)
class Beside:
    """A place beside a wall."""

    wall: int  # index
    along: float  # [m] from the wall's first end
    off: float  # [m] square off it
    error: float  # [m] standard error of the place


@dataclass(frozen=True, slots=True)
class Fix:
    """How a place is found again."""

    first: int  # index of the point
    second: int
    distances: tuple[float, float]  # [m]
    error: float  # [m] standard error of the place


def tape_error(distance: float) -> float:
    """Standard error [m] of a taped distance [m]."""
    return math.hypot(TAPE_ERROR, TAPE_STRETCH * distance)


def fix_error(at: Point, first: Point, second: Point) -> float:
    """Standard error [m] of a place found by tape from two points; infinite where their circles only touch.

    >>> round(fix_error((3.0, 0.0), (0.0, 0.0), (3.0, 4.0)), 4)
    0.0173
    """
    (ax, ay), (bx, by) = ((at[0] - p[0], at[1] - p[1]) for p in (first, second))
    a, b = math.hypot(ax, ay), math.hypot(bx, by)
    sine = abs(ax * by - ay * bx) / (a * b) if a > 0 and b > 0 else 0.0
    return math.hypot(tape_error(a), tape_error(b)) / sine if sine > 1e-9 else math.inf


def best_fix(at: Point, points: Sequence[Point], *, walls: BaseGeometry) -> Fix | None:
    """Choose the two points to tape a place from.

    Parameters: at [m]; points [m]; walls, that no tape goes through (it may run along them). Returns: the best pair, or
    None where no two points in sight and reach of a tape give a place.
    """
    inner = shapely.buffer(walls, -GRAZE)
    shapely.prepare(inner)
    reach = np.array([0 < math.dist(at, point) <= LONGEST_TAPE for point in points], dtype=bool)
    seen = [n for n, point in enumerate(points) if reach[n] and not inner.intersects(LineString((at, point)))]
    pairs = [(fix_error(at, points[a], points[b]), a, b) for a, b in combinations(seen, 2)]
    error, first, second = min(pairs, default=(math.inf, 0, 0))
    if not math.isfinite(error):
        return None
    return Fix(first, second, (math.dist(at, points[first]), math.dist(at, points[second])), error)


def best_wall(at: Point, sides: Sequence[tuple[Point, Point]]) -> Beside | None:
    """Choose the wall to measure a place from; None where it stands square off no wall within SQUARE_REACH.

    Parameters: at [m]; sides, both ends of each wall [m].
    """
    found: list[Beside] = []
    for number, (start, end) in enumerate(sides):
        length = math.dist(start, end)
        ux, uy = ((end[0] - start[0]) / length, (end[1] - start[1]) / length) if length > 0 else (0.0, 0.0)
        dx, dy = at[0] - start[0], at[1] - start[1]
        along, off = dx * ux + dy * uy, abs(dx * uy - dy * ux)
        if 0 < along < length and off <= SQUARE_REACH:
            error = math.hypot(tape_error(along), tape_error(off), SQUARE_ERROR * off)
            found.append(Beside(number, along, off, error))
    return min(found, key=lambda beside: beside.error, default=None)


def mirrored(at: Point, first: Point, second: Point) -> Point:
    """The other place at the same two distances.

    >>> mirrored((1.0, 2.0), (0.0, 0.0), (4.0, 0.0))
    (1.0, -2.0)
    """
    dx, dy = second[0] - first[0], second[1] - first[1]
    x, y = at[0] - first[0], at[1] - first[1]
    along = 2 * (x * dx + y * dy) / (dx * dx + dy * dy)
    return first[0] + along * dx - x, first[1] + along * dy - y


def bearing(start: Point, end: Point, *, north: float) -> tuple[str, float]:
    """Compass direction from a point to another: in eighths, and in degrees clockwise from north.

    Parameters: north [°], direction of north on the plan, counter-clockwise from the x axis.

    >>> bearing((0, 0), (1, 1), north=90.0)
    ('north-east', 45.0)
    """
    degrees = (north - math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))) % 360
    return _WINDS[round(degrees / 45) % 8], degrees
