"""Compiled kernel: length of the shortest tree over some of many points, by Prim's method."""

import numpy as np
from numba import njit

__all__ = ["spanning_length"]


@njit(cache=True)
def spanning_length(chosen, number, between):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Length of the shortest tree over the first `number` chosen points; between, lengths by pairs of all points."""
    left, gap = np.empty(number - 1, dtype=np.int64), np.empty(number - 1)
    for k in range(number - 1):
        left[k], gap[k] = chosen[k + 1], between[chosen[0], chosen[k + 1]]
    length = 0.0
    for rest in range(number - 1, 0, -1):
        nearest_k = 0
        for k in range(1, rest):
            if gap[k] < gap[nearest_k]:
                nearest_k = k
        length += gap[nearest_k]
        joined = left[nearest_k]
        gap[nearest_k], left[nearest_k] = gap[rest - 1], left[rest - 1]
        for k in range(rest - 1):
            gap[k] = min(gap[k], between[joined, left[k]])
    return length
