"""What runs out of a net that stands full, compiled."""

from typing import Any

import numpy as np
from numba import njit

__all__ = ["run_out"]

Array = Any


@njit(cache=True)
def run_out(order: Array, at: Array, start: Array, near: Array) -> Array:
    """For each point the outlet that its water runs out of, -1 where it stays.

    Parameters: order, points and then outlets (outlet k has the number of points + k) from the lowest to the highest, a
    point before an outlet of its height; at, the point of each outlet, outlets lowest first; start, near: neighbours of
    point v are near[start[v]:start[v + 1]]. Points join up from the lowest; each group remembers its lowest outlet.
    """
    points, outlets = len(start) - 1, len(at)
    root, lowest, ways = np.full(points, -1), np.full(points, outlets), np.full(points, -1)
    for item in order:
        if item >= points:
            group = _top(root, at[item - points])
            lowest[group] = min(lowest[group], item - points)
            continue
        root[item] = item
        for other in near[start[item] : start[item + 1]]:
            if root[other] >= 0:
                group, mine = _top(root, other), _top(root, item)
                root[group] = mine
                lowest[mine] = min(lowest[mine], lowest[group])
        group = _top(root, item)
        if lowest[group] < outlets:
            ways[item] = lowest[group]
    return ways


@njit(cache=True)
def _top(root: Array, point: int) -> int:
    while root[point] != point:
        root[point] = root[root[point]]
        point = root[point]
    return point
