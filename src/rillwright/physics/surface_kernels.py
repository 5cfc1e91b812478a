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
def _height(
    x: float, y: float, start: int, affine: Floats, neighbours: Whole, corners: Whole, heights: Floats
) -> tuple[float, int]:
    """Height [m] at a point and the triangle that holds it, found from a first one by a walk toward the point.

    Not a number where none holds it, with the last that was met.
    """
    triangle = start
    for _ in range(1 + len(corners)):
        to = affine[triangle]
        dx, dy = x - to[2, 0], y - to[2, 1]
        first, second = to[0, 0] * dx + to[0, 1] * dy, to[1, 0] * dx + to[1, 1] * dy
        third = 1.0 - first - second
        if first < -_ON_EDGE:
            after = neighbours[triangle, 0]
        elif second < -_ON_EDGE:
            after = neighbours[triangle, 1]
        elif third < -_ON_EDGE:
            after = neighbours[triangle, 2]
        elif third <= 1.0 + _ON_EDGE:
            a, b, c = corners[triangle]
            return float(first * heights[a] + second * heights[b] + third * heights[c]), triangle
        else:
            break  # a triangle without area
        if after < 0:
            break
        triangle = int(after)
    return np.nan, triangle


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
        found[k], start = _height(x, y, start, affine, neighbours, corners, heights)
        if not math.isnan(found[k]):
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
        found[k], start = _height(inside_x, inside_y, start, affine, neighbours, corners, heights)
        if math.isnan(found[k]):
            found[k] = heights[np.argmin(np.hypot(near_x - spots[:, 0], near_y - spots[:, 1]))]
    return found
