"""Rows that zones' capacities add to the linear programme of the cost's bound, and the sets of heads that break them.

A head's share is its flow over its capacity; a zone's shares sum to one at most. So

- *inside*: a set of heads needs its shares, rounded up, in zones, and holds no more trenches than its heads less these;
- *outward*: the other zones of a group hold one each at most, so a zone's shares sum to `least` or more, the group's
  sum less its zones but one. A set holds no more whole zones than its shares over `least`, rounded down. Each other
  zone whose trench from its place comes into the set has a trench that leaves it.

Sets are grown greedily from every head, so not all that are broken are found.
Source: inside, Toth and Vigo, Networks 26 (1995), from memory; outward, derived here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.zoning.cut_kernels import grown_inside, grown_outward

__all__ = ["Broken", "Cut", "broken_sets"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

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
    heads: frozenset[int]
    inside: NDArray[np.bool_]  # by head, whether it is one of them
    outward: bool
    price: float = 0.0  # of the row in the last solution
    idle: int = 0  # solves since it was last binding

    @classmethod
    def of(cls, row: Any, broken: Broken, heads: int) -> "Cut":
        """The row for a broken one, in a programme of so many heads."""
        inside = np.zeros(heads, dtype=bool)
        inside[list(broken.inside)] = True
        return cls(row, broken.inside, inside, broken.outward)

    def of_heads(self, i: Whole, j: Whole) -> Floats:
        """Coefficients of trenches from heads i to heads j."""
        leaves = self.inside[i] & (self.inside[j] != self.outward)
        return np.where(leaves, -1.0 if self.outward else 1.0, 0.0)

    def of_places(self, h: Whole) -> Floats:
        """Coefficients of trenches from a place to heads h."""
        return np.where(self.inside[h] & self.outward, 1.0, 0.0)

    def charge(self, inner: Floats, outer: Floats) -> None:
        """Take the row's price off the reduced costs of trenches between heads and from places."""
        if not self.price:
            return
        inside = np.flatnonzero(self.inside)
        if self.outward:
            inner[inside] += self.price
            outer[:, inside] -= self.price
        inner[np.ix_(inside, inside)] -= self.price


def broken_sets(order: Sequence[int], share: Floats, arcs: Floats, root: Floats, least: float) -> list[Broken]:
    """Rows of one group that a solution breaks.

    Parameters: order, heads of the group; for each of them in this order: share; arcs (n, n), how much of the trench
    from one to another is used; root, how much comes in from places; least, the shares of any zone.
    """
    found: dict[tuple[frozenset[int], bool], Broken] = {}
    joined, held, names = np.empty(len(order), dtype=np.int64), np.empty(len(order)), np.array(order)
    weight, largest = arcs + arcs.T, (_OUTWARD + 1 - 1e-9) * least

    def note(size: int, most: Whole, *, outward: bool) -> None:
        excess = held[:size] - most
        for end in np.flatnonzero(excess > _OVER):
            heads = frozenset(names[joined[: end + 1]].tolist())
            found[heads, outward] = Broken(float(excess[end]), heads, outward=outward, most=int(most[end]))

    for start in range(len(order)):
        size = grown_inside(weight, start, joined, held)
        zones = np.maximum(1, np.ceil(np.cumsum(share[joined[:size]]) - 1e-9).astype(np.int64))
        note(size, np.arange(1, size + 1) - zones, outward=False)
        if least > 0 and root[start] > _OVER:
            size = grown_outward(arcs, root, share, largest, start, joined, held)
            whole = np.floor(np.cumsum(share[joined[:size]]) / least + 1e-9).astype(np.int64)
            note(size, whole, outward=True)
    return list(found.values())
