"""Compiled kernel: length of the shortest tree over some of many points, by Prim's method."""

import numpy as np
from numba import njit

__all__ = ["spanning_length"]


@njit(cache=True)
def spanning_length(chosen, number, between, most):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Length of the shortest tree over the first `number` chosen points, infinite when it is over the most.

    Parameters: between, lengths by pairs of all points.
    """
    left, gap = np.empty(number, dtype=np.int64), np.empty(number)
    nearest = 0
    for k in range(number - 1):
        left[k], gap[k] = chosen[k + 1], between[chosen[0], chosen[k + 1]]
        if gap[k] < gap[nearest]:
            nearest = k
    length = 0.0
    for rest in range(number - 2, -1, -1):
        length += gap[nearest]
        if length > most:
            return np.inf
        joined = left[nearest]
        gap[nearest], left[nearest] = gap[rest], left[rest]
        nearest = 0
        for k in range(rest):
            gap[k] = min(gap[k], between[joined, left[k]])
            if gap[k] < gap[nearest]:
                nearest = k
    return length
