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

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.zoning.cut_kernels import grown_inside, grown_outward

__all__ = ["Broken", "Rows", "broken_sets"]

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


class Rows:
    """Rows of a programme, one of each array for a row."""

    def __init__(self, heads: int) -> None:
        self.inside = np.zeros((0, heads), dtype=bool)  # whether each head is in its set
        self.outward = np.zeros(0, dtype=bool)
        self.number = np.zeros(0, dtype=np.int32)  # among all rows of the programme
        self.idle = np.zeros(0, dtype=np.int64)  # solves since it was last binding

    def take(self, broken: Sequence[Broken], first: int) -> "Rows":
        """Add broken rows, numbered from the first; returns the added ones."""
        added = Rows(self.inside.shape[1])
        added.inside = np.zeros((len(broken), self.inside.shape[1]), dtype=bool)
        for row, one in enumerate(broken):
            added.inside[row, list(one.inside)] = True
        added.outward = np.array([one.outward for one in broken], dtype=bool)
        added.number = np.arange(first, first + len(broken), dtype=np.int32)
        added.idle = np.zeros(len(broken), dtype=np.int64)
        for name in ("inside", "outward", "number", "idle"):
            setattr(self, name, np.concatenate((getattr(self, name), getattr(added, name))))
        return added

    def drop(self, idle: int) -> NDArray[np.int32]:
        """Take rows out that have been idle so long, and number the others anew; returns the numbers that are gone."""
        kept = self.idle < idle
        gone: NDArray[np.int32] = self.number[~kept]
        self.number = (self.number[kept] - np.searchsorted(gone, self.number[kept])).astype(np.int32)
        self.inside, self.outward, self.idle = self.inside[kept], self.outward[kept], self.idle[kept]
        return gone

    def known(self) -> set[tuple[frozenset[int], bool]]:
        """Sets of heads of the rows, and whether they are outward."""
        return {
            (frozenset(np.flatnonzero(inside).tolist()), outward)
            for inside, outward in zip(self.inside, self.outward.tolist(), strict=True)
        }

    def coefficients(self, tail: Whole, head: Whole) -> Floats:
        """Coefficients, shape (rows, trenches), of trenches to heads; a tail past the heads is a place."""
        between, outward = tail < self.inside.shape[1], self.outward[:, None]
        found = np.zeros((len(self.inside), len(tail)))
        into = self.inside[:, head]
        leaves = self.inside[:, tail[between]] & (into[:, between] != outward)
        found[:, between] = np.where(leaves, np.where(outward, -1.0, 1.0), 0.0)
        found[:, ~between] = into[:, ~between] & outward
        return found

    def charged(self, price: Floats) -> tuple[Floats, Floats]:
        """What the prices of rows take off the reduced costs of trenches between heads, and from places into each head.

        Shapes: price (rows,); the results (heads, heads) and (heads,).
        """
        held = self.inside.T @ (price[:, None] * self.inside)
        out = price[self.outward] @ self.inside[self.outward]
        return held - out[:, None], out


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
