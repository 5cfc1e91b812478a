"""Compiled inner loops of the rows that capacities add: sets of heads grown from each head, and what prices charge."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["charged", "grown_inside", "grown_outward"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]


@njit(cache=True)
def charged(inside: Mask, outward: Mask, price: Floats) -> tuple[Floats, Floats]:
    """What the prices of rows take off the reduced costs of trenches between heads, and from places into each head.

    Parameters: by row, the heads of its set (rows, heads), whether it is outward, and its price [currency], of which
    most are 0. Shapes of the results: (heads, heads) and (heads,).
    """
    heads = inside.shape[1]
    held, out = np.zeros((heads, heads)), np.zeros(heads)
    for row in np.flatnonzero(price):
        members = np.flatnonzero(inside[row])
        for i in members:
            for j in members:
                held[i, j] += price[row]
            if outward[row]:
                out[i] += price[row]
    return held - out[:, None], out


@njit(cache=True)
def grown_inside(weight: Floats, share: Floats) -> tuple[Whole, Floats]:
    """Grow a set from each head by the one, of those with trench to it, that adds most trench and share.

    Parameters: weight (n, n), trench used between two heads, both ways; share (n,). Returns two arrays (n, n) with a
    line for each first head: the heads in order of joining, -1 past the last; and the trench inside the set once each
    has joined.
    """
    number = len(weight)
    joined, held = np.full((number, number), -1), np.zeros((number, number))
    for start in range(number):
        pull = weight[start].copy()
        pull[start] = -1.0
        joined[start, 0] = start
        for size in range(1, number):
            nearest, most = -1, 0.0
            for head in range(number):
                if pull[head] > 1e-6 and pull[head] + share[head] > most:
                    nearest, most = head, pull[head] + share[head]
            if nearest < 0:
                break
            joined[start, size], held[start, size] = nearest, held[start, size - 1] + pull[nearest]
            for head in range(number):
                if pull[head] >= 0.0:
                    pull[head] += weight[nearest, head]
            pull[nearest] = -1.0
    return joined, held


@njit(cache=True)
def grown_outward(arcs: Floats, root: Floats, share: Floats, largest: float, least: float) -> tuple[Whole, Floats]:
    """Grow a set from each head with a root by the head that most raises roots less trenches out.

    Parameters: arcs (n, n), how much of the trench from one head to another is used; root (n,), how much comes in from
    places; share (n,); largest, sum of shares at which growing ends; least, of a root to grow from. Returns two arrays
    (n, n) with a line for each first head: the heads in order of joining, -1 past the last; and the roots less the
    trenches out of the set once each has joined.
    """
    number = len(root)
    joined, excess = np.full((number, number), -1), np.zeros((number, number))
    away = arcs.sum(axis=1)
    for start in range(number):
        if root[start] <= least:
            continue
        within = np.zeros(number, dtype=np.bool_)
        out, gone = np.zeros(number), away.copy()  # from the set to each head; from each head out of the set
        nearest, roots, leaving, held, size = start, 0.0, 0.0, 0.0, 0
        while nearest >= 0:
            leaving += gone[nearest] - out[nearest]
            within[nearest] = True
            roots += root[nearest]
            held += share[nearest]
            for head in range(number):
                out[head] += arcs[nearest, head]
                gone[head] -= arcs[head, nearest]
            if held >= largest:
                break
            joined[start, size], excess[start, size] = nearest, roots - leaving
            size += 1
            nearest, most = -1, 0.0
            for head in range(number):
                if within[head] or (out[head] <= 1e-6 and root[head] <= 1e-6):
                    continue
                value = root[head] + out[head] - gone[head]
                if nearest < 0 or value > most:
                    nearest, most = head, value
    return joined, excess
