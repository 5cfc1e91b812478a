"""Compiled inner loops of the search for broken rows: a set of heads is grown from each, best joined first."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["grown_inside", "grown_outward"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@njit(cache=True)
def grown_inside(weight: Floats, start: int, joined: Whole, held: Floats) -> int:
    """Grow a set from a head by the head that shares most trench with it; returns how many heads it got.

    Parameters: weight (n, n), trench used between two heads, both ways; joined (n,) is filled with the heads in order
    of joining; held (n,) with the trench inside the set once each has joined.
    """
    pull = weight[start].copy()
    pull[start] = -1.0
    joined[0], held[0], size = start, 0.0, 1
    while size < len(pull):
        nearest = 0
        for head in range(1, len(pull)):
            if pull[head] > pull[nearest]:
                nearest = head
        if pull[nearest] <= 1e-6:
            break
        joined[size], held[size] = nearest, held[size - 1] + pull[nearest]
        size += 1
        for head in range(len(pull)):
            if pull[head] >= 0.0:
                pull[head] += weight[nearest, head]
        pull[nearest] = -1.0
    return size


@njit(cache=True)
def grown_outward(
    arcs: Floats, root: Floats, share: Floats, largest: float, start: int, joined: Whole, excess: Floats
) -> int:
    """Grow a set from a head by the head that most raises roots less trenches out; returns how many heads it got.

    Parameters: arcs (n, n), how much of the trench from one head to another is used; root (n,), how much comes in from
    places; share (n,); largest, sum of shares at which growing ends; joined (n,) is filled with the heads in order of
    joining; excess (n,) with the roots less the trenches out of the set once each has joined.
    """
    number = len(root)
    within = np.zeros(number, dtype=np.bool_)
    out, gone = np.zeros(number), np.zeros(number)  # from the set to each head; from each head out of the set
    for head in range(number):
        for other in range(number):
            gone[head] += arcs[head, other]
    nearest, roots, leaving, held, size = start, 0.0, 0.0, 0.0, 0
    while True:
        leaving += gone[nearest] - out[nearest]
        within[nearest] = True
        roots += root[nearest]
        held += share[nearest]
        for head in range(number):
            out[head] += arcs[nearest, head]
            gone[head] -= arcs[head, nearest]
        if held >= largest:
            return size
        joined[size], excess[size] = nearest, roots - leaving
        size += 1
        nearest, most = -1, 0.0
        for head in range(number):
            if within[head] or (out[head] <= 1e-6 and root[head] <= 1e-6):
                continue
            value = root[head] + out[head] - gone[head]
            if nearest < 0 or value > most:
                nearest, most = head, value
        if nearest < 0:
            return size
