"""Rows that zones' capacities add to the linear programme of the cost's bound, and the sets of heads that break them.

A head's share is its flow over its capacity; a zone's shares sum to one at most. So

- *inside*: a set of heads needs its shares, rounded up, in zones, and holds no more trenches than its heads less these;
- *outward*: the other zones of a group hold one each at most, so a zone's shares sum to `least` or more, the group's
  sum less its zones but one. A set holds no more whole zones than its shares over `least`, rounded down. Each other
  zone whose trench from its place comes into the set has a trench that leaves it.

Sets are grown greedily from every head, so not all that are broken are found.
Source: inside, Toth and Vigo, Networks 26 (1995), from memory; outward, derived here.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Broken", "Cut", "broken_sets"]

_OVER = 1e-4  # by which a row is broken before it counts
_OUTWARD = 1  # whole zones, at most, that a set may hold


@dataclass(frozen=True, slots=True)
class Broken:
    """A row not yet in the programme: what it holds over its limit, its heads, and the limit."""

    excess: float
    inside: frozenset[int]
    outward: bool
    most: int


@dataclass(slots=True)
class Cut:
    """A row of the programme."""

    row: Any
    inside: frozenset[int]
    outward: bool
    idle: int = 0  # solves since it was last binding

    def of_head(self, i: int, j: int) -> float:
        """Coefficient of a trench from head to head."""
        if i not in self.inside:
            return 0.0
        if self.outward:
            return 0.0 if j in self.inside else -1.0
        return 1.0 if j in self.inside else 0.0

    def of_place(self, h: int) -> float:
        """Coefficient of a trench from a place to a head."""
        return 1.0 if self.outward and h in self.inside else 0.0

    def charge(self, inner: NDArray[np.float64], outer: NDArray[np.float64]) -> None:
        """Take the row's price off the reduced costs of trenches between heads and from places."""
        price, inside = self.row.dual_value(), list(self.inside)
        if price and self.outward:
            inner[inside] += price
            outer[:, inside] -= price
        if price:
            inner[np.ix_(inside, inside)] -= price


def broken_sets(
    order: Sequence[int],
    share: NDArray[np.float64],
    arcs: NDArray[np.float64],
    root: NDArray[np.float64],
    least: float,
) -> list[Broken]:
    """Rows of one group that a solution breaks.

    Parameters: order, heads of the group; for each of them in this order: share; arcs (n, n), how much of the trench
    from one to another is used; root, how much comes in from places; least, the shares of any zone.
    """
    found: dict[tuple[frozenset[int], bool], Broken] = {}
    weight = arcs + arcs.T
    for start in range(len(order)):
        _grow_inside(order, share, weight, start, found)
        if least > 0 and root[start] > _OVER:
            _grow_outward(order, share, arcs, root, start, least, found)
    return list(found.values())


def _grow_inside(
    order: Sequence[int],
    share: NDArray[np.float64],
    weight: NDArray[np.float64],
    start: int,
    found: dict[tuple[frozenset[int], bool], Broken],
) -> None:
    """Add the head joined best each time; note sets with more trench inside than their zones leave room for."""
    inside, held, size = [start], 0.0, float(share[start])
    pull = weight[start].copy()
    pull[start] = -1.0
    for _ in range(len(order) - 1):
        nearest = int(np.argmax(pull))
        if pull[nearest] <= 1e-6:
            break
        held += float(pull[nearest])
        inside.append(nearest)
        size += float(share[nearest])
        pull = np.where(pull < 0, -1.0, pull + weight[nearest])
        pull[nearest] = -1.0
        most = len(inside) - max(1, math.ceil(size - 1e-9))
        if held > most + _OVER:
            heads = frozenset(order[k] for k in inside)
            found[heads, False] = Broken(held - most, heads, outward=False, most=most)


def _grow_outward(
    order: Sequence[int],
    share: NDArray[np.float64],
    arcs: NDArray[np.float64],
    root: NDArray[np.float64],
    start: int,
    least: float,
    found: dict[tuple[frozenset[int], bool], Broken],
) -> None:
    """Add the head that most raises roots less trenches out; note sets with more roots than leave and stay."""
    within = np.zeros(len(order), dtype=bool)
    out, gone = np.zeros(len(order)), arcs.sum(axis=1)  # from the set to each head; from each head out of the set
    nearest, roots, leaving, size = start, 0.0, 0.0, 0.0
    while True:
        leaving += float(gone[nearest] - out[nearest])
        within[nearest] = True
        roots, size = roots + float(root[nearest]), size + float(share[nearest])
        out, gone = out + arcs[nearest], gone - arcs[:, nearest]
        most = math.floor(size / least + 1e-9)
        if most > _OUTWARD:
            return
        if roots - leaving > most + _OVER:
            heads = frozenset(order[k] for k in np.flatnonzero(within).tolist())
            found[heads, True] = Broken(roots - leaving - most, heads, outward=True, most=most)
        joined = ~within & ((out > 1e-6) | (root > 1e-6))
        if not joined.any():
            return
        nearest = int(np.argmax(np.where(joined, root + out - gone, -np.inf)))
