"""Which stretches of a graph two others replace, compiled. Arcs are numbered as in `kernels`."""

import math
from typing import Any

import numpy as np
from numba import njit

__all__ = ["unreplaced"]

Array = Any


@njit(cache=True)
def unreplaced(
    start: Array, other: Array, edge: Array, points: Array, length: Array, trench: Array, detour: float
) -> Array:
    """Say for each edge whether no two others that are there replace it for `detour` times its cost and length.

    Parameters: points (n, 2) [m]; length (m,) [m] and trench (m,) [currency] of the edges. Node by node in their order,
    so that what replaces an edge is still there.
    """
    there, to = np.ones(len(length), np.bool_), np.full(len(points), -1, np.int64)
    for via in range(len(points)):
        for one in range(start[via], start[via + 1]):
            a, first = other[one], edge[one]
            if not there[first]:
                continue
            for arc in range(start[a], start[a + 1]):
                to[other[arc]] = edge[arc]
            for two in range(start[via], start[via + 1]):
                b, second = other[two], edge[two]
                if a < b and there[second] and to[b] >= 0 and there[to[b]]:
                    direct = math.hypot(points[a, 0] - points[b, 0], points[a, 1] - points[b, 1])
                    near = length[first] + length[second] <= detour * direct + 1e-9
                    if near and trench[first] + trench[second] <= detour * trench[to[b]] + 1e-9:
                        there[to[b]] = False
            for arc in range(start[a], start[a + 1]):
                to[other[arc]] = -1
    return there
