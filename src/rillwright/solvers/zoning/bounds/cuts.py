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
from dataclasses import dataclass, fields
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Rows", "broken_sets"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]

_OVER = 1e-4  # by which a row is broken before it counts
_OUTWARD = 1  # whole zones, at most, that a set may hold
_CUTS = 60  # rows found at a time, of each kind


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of a programme, or such as a solution breaks; each array has one entry for a row."""

    inside: Mask  # (rows, heads) whether each head is in its set
    outward: Mask
    most: Floats  # its limit
    excess: Floats  # what the solution in which it was found holds over the limit

    @staticmethod
    def none(heads: int) -> "Rows":
        """No row at all."""
        return Rows(np.zeros((0, heads), dtype=bool), np.zeros(0, dtype=bool), np.zeros(0), np.zeros(0))

    def __len__(self) -> int:
        return len(self.most)

    def __getitem__(self, rows: Mask | Whole | slice) -> "Rows":
        return Rows(*(getattr(self, field.name)[rows] for field in fields(self)))

    def __add__(self, other: "Rows") -> "Rows":
        pairs = ((getattr(self, field.name), getattr(other, field.name)) for field in fields(self))
        return Rows(*(np.concatenate(pair) for pair in pairs))

    def worst(self) -> "Rows":
        """The most broken, in this order, as many as are found at a time."""
        return self[np.argsort(-self.excess, kind="stable")[:_CUTS]]

    def coefficients(self, tail: Whole, head: Whole) -> Floats:
        """Coefficients, shape (rows, trenches), of trenches to heads; a tail past the heads is a place."""
        between, outward = tail < self.inside.shape[1], self.outward[:, None]
        found = np.zeros((len(self.inside), len(tail)))
        into = self.inside[:, head]
        leaves = self.inside[:, tail[between]] & (into[:, between] != outward)
        found[:, between] = np.where(leaves, np.where(outward, -1.0, 1.0), 0.0)
        found[:, ~between] = into[:, ~between] & outward
        return found


@cache
def _marks(heads: int) -> Whole:
    """A number for each head; sets of heads have different sums of them, but for one pair in 2^60."""
    return np.random.default_rng(0).integers(1 << 60, size=heads)


def broken_sets(members: Sequence[int], share: Floats, arcs: Floats, root: Floats, least: float) -> Rows:
    """Rows of one group that a solution breaks, each once.

    Parameters: members, heads of the group; for all heads: share; arcs (n, n), how much of the trench from one to
    another is used; root, how much comes in from places; least, the shares of any zone.
    """
    from rillwright.solvers.zoning.bounds.cut_kernels import grown_inside, grown_outward

    order = np.array(members)
    own, arcs, root = share[order], arcs[np.ix_(order, order)], root[order]
    joined, held = grown_inside(arcs + arcs.T, own)
    zones = np.maximum(1, np.ceil(_sums(own, joined) - 1e-9))
    found = _over(order, len(share), joined, held, np.arange(1.0, len(order) + 1) - zones, outward=False)
    if least > 0:
        joined, held = grown_outward(arcs, root, own, (_OUTWARD + 1 - 1e-9) * least, _OVER)
        whole = np.floor(_sums(own, joined) / least + 1e-9)
        found += _over(order, len(share), joined, held, whole, outward=True)
    return found


def _sums(value: NDArray[Any], joined: Whole) -> NDArray[Any]:
    """Sum of the heads' values in each line once each head has joined."""
    return np.where(joined < 0, 0, value[joined]).cumsum(axis=1)


def _over(order: Whole, heads: int, joined: Whole, held: Floats, most: Floats, *, outward: bool) -> Rows:
    """Sets, each the first heads of a line, that hold more than their limit."""
    excess = np.where(joined < 0, 0.0, held - most)
    line, last = np.nonzero(excess > _OVER)
    once = np.unique(_sums(_marks(heads)[order], joined)[line, last], return_index=True)[1]
    worst = once[np.argsort(-excess[line, last][once], kind="stable")[:_CUTS]]
    line, last = line[worst], last[worst]
    place = np.full((len(order), len(order) + 1), len(order))  # of each head in each line; the last column is for -1
    np.put_along_axis(place, joined, np.arange(len(order))[None, :], axis=1)
    inside = np.zeros((len(line), heads), dtype=bool)
    inside[:, order] = place[line, :-1] <= last[:, None]
    return Rows(inside, np.full(len(line), outward), most[line, last], excess[line, last])
