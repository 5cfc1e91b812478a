"""Heights on a surface of triangles, compiled."""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["surface_heights"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int32]

_ON_EDGE = 100 * np.finfo(np.float64).eps  # share of a triangle's height past its edge that still counts as inside
_INWARD = 1e-7  # of the way to the hull's middle, by which a point on the hull is taken inside it


@njit(cache=True)
def _shares(x: float, y: float, to: Floats) -> tuple[float, float, float]:
    """Barycentric coordinates of a point in a triangle; none is a number where it has no area."""
    dx, dy = x - to[2, 0], y - to[2, 1]
    first, second = to[0, 0] * dx + to[0, 1] * dy, to[1, 0] * dx + to[1, 1] * dy
    return first, second, 1.0 - first - second


@njit(cache=True)
def _holder(x: float, y: float, start: int, affine: Floats, neighbours: Whole) -> int:
    """Triangle that holds a point, found from a first one by a walk toward the point; -1 where none does.

    A walk that meets a triangle without area, as Delaunay's may have along straight edges, looks at all of them.
    """
    triangle = start
    for _ in range(1 + len(affine)):
        first, second, third = _shares(x, y, affine[triangle])
        if first < -_ON_EDGE:
            triangle = neighbours[triangle, 0]
        elif second < -_ON_EDGE:
            triangle = neighbours[triangle, 1]
        elif third < -_ON_EDGE:
            triangle = neighbours[triangle, 2]
        elif not math.isnan(third):
            return triangle
        else:
            break
        if triangle < 0:
            return -1
    for other in range(len(affine)):
        if min(_shares(x, y, affine[other])) >= -_ON_EDGE:
            return other
    return -1


@njit(cache=True)
def _height(x: float, y: float, triangle: int, affine: Floats, corners: Whole, heights: Floats) -> float:
    """Height [m] at a point in a triangle."""
    first, second, third = _shares(x, y, affine[triangle])
    a, b, c = corners[triangle]
    return float(first * heights[a] + second * heights[b] + third * heights[c])


@njit(cache=True)
def surface_heights(
    points: Floats, affine: Floats, neighbours: Whole, corners: Whole, spots: Floats, heights: Floats, hull: Floats
) -> Floats:
    """Heights [m] at points (n, 2) [m], linear over Delaunay triangles; outside that of the nearest point of the hull.

    Parameters: affine (t, 3, 2), maps to barycentric coordinates and the corner that they are taken from; neighbours
    and corners (t, 3) of the triangles; spots (s, 2) [m] with heights (s,) [m]; hull (h, 2) [m], its corners in order.
    A point that no triangle holds, even inside the hull, gets the height of the nearest spot. Errors: none.
    Source: barycentric interpolation and the visibility walk, standard methods.
    """
    found = np.empty(len(points))
    middle_x, middle_y, start = hull[:, 0].mean(), hull[:, 1].mean(), 0
    for k in range(len(points)):
        x, y = points[k]
        holder = _holder(x, y, start, affine, neighbours)
        if holder >= 0:
            found[k], start = _height(x, y, holder, affine, corners, heights), holder
            continue
        least, near_x, near_y = np.inf, 0.0, 0.0
        for h in range(len(hull)):
            ax, ay = hull[h]
            sx, sy = hull[(h + 1) % len(hull)] - hull[h]
            along = min(max(((x - ax) * sx + (y - ay) * sy) / (sx * sx + sy * sy), 0.0), 1.0)
            foot_x, foot_y = ax + along * sx, ay + along * sy
            away = math.sqrt((x - foot_x) ** 2 + (y - foot_y) ** 2)
            if away < least:
                least, near_x, near_y = away, foot_x, foot_y
        inside_x, inside_y = near_x + _INWARD * (middle_x - near_x), near_y + _INWARD * (middle_y - near_y)
        holder = _holder(inside_x, inside_y, start, affine, neighbours)
        if holder >= 0:
            found[k], start = _height(inside_x, inside_y, holder, affine, corners, heights), holder
        else:
            found[k] = heights[np.argmin(np.hypot(near_x - spots[:, 0], near_y - spots[:, 1]))]
    return found
