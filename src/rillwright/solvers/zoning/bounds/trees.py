"""Cheapest trees of heads under a zone's capacity, at prices for heads and trenches: the pricing of whole zones.

A tree out of a head carries the whole-number loads of its heads, so chosen that every true zone is among the trees
(`parts`). A head may come twice, but no head is its own branch's branch, and none branches
twice to the same near head: what a head's trees cost by load follows from those of its branches at smaller loads.
So the cheapest tree bounds the cheapest zone from below.
Source: q-arborescences, Uchoa, Fukasawa, Lysgaard, Pessoa, Poggi de Aragao and Andrade, Robust branch-cut-and-price for
the capacitated minimum spanning tree problem over a large extended formulation, Math. Programming 112 (2008), from
memory; the two rules against repetition are derived here.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["Trees"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

_NEAR = 4  # heads nearest to each, to which it branches once at most


class Trees:
    """Trees of heads that share arcs of finite cost, by the load of each, one or more, and the most out of each."""

    def __init__(self, arc: Floats, load: Whole, most: Whole) -> None:
        heads = len(load)
        self.load, self.most = load, most
        ranked = np.argsort(np.where(np.eye(heads, dtype=bool), np.inf, arc), axis=1, kind="stable")
        slots = max(1, min(_NEAR, heads - 1))
        nearest = ranked[:, :slots]
        known = np.isfinite(np.take_along_axis(arc, nearest, axis=1)) & (nearest != np.arange(heads)[:, None])
        self._near = np.where(known, nearest, -1)
        self._slot = np.full((heads, heads), slots)  # of each near head, the last for one that is not
        row, column = np.nonzero(known)
        self._slot[row, self._near[row, column]] = column
        self._steps, self._leaf, tables = _steps(slots)
        self._before = {0: 0, **{int(made): int(table) for table, _, made in self._steps}}
        self._table = np.empty((heads, tables + 1, int(most.max()) + 1))
        self._came, self._falls = np.empty((2, *self._table.shape), dtype=np.int32)
        self._number = np.zeros((heads, tables + 1), dtype=np.int64)

    def cheapest(self, arc: Floats) -> Floats:
        """Cost [currency] of the cheapest tree out of each head, 0 for the head alone, by the cost of each arc."""
        from rillwright.solvers.zoning.bounds.tree_kernel import cheapest_trees

        ways = self._near, self._slot, self._steps, self._leaf
        cheapest_trees(arc, self.load, *ways, self._table, self._came, self._falls, self._number)
        found: Floats = self._table[np.arange(len(self.load)), self._leaf[-1], self.most]
        return found

    def arcs(self, head: int) -> list[tuple[int, int]]:
        """Arcs of the cheapest tree out of a head, each as often as it occurs."""
        arcs, waiting = [], [(head, int(self._leaf[-1]), int(self.most[head]))]
        while waiting:
            head, table, total = waiting.pop()
            while table or self._table[head, 0, total] < 0:
                came = int(self._came[head, table, total])
                if came >= 0:
                    other, load = divmod(came, self._table.shape[2])
                    arcs.append((head, other))
                    waiting.append((other, int(self._leaf[self._slot[other, head] if table else -1]), load))
                    total -= load
                table = self._before[table]
        return arcs


@cache
def _steps(slots: int) -> tuple[Whole, Whole, int]:
    """Tables of one head, each made of another by the branches of a slot: halves and halves of halves are left out.

    Returns steps (n, 3) of table, slot and table made, the tables that leave out each slot and none, and their number.
    """
    steps: list[tuple[int, int, int]] = []
    leaf = [0] * slots
    waiting = [(0, 0, slots)]
    while waiting:
        table, low, high = waiting.pop()
        if high - low == 1:
            leaf[low] = table
            continue
        middle = (low + high) // 2
        for left, right, others in ((low, middle, range(middle, high)), (middle, high, range(low, middle))):
            last = table
            for slot in others:
                steps.append((last, slot, len(steps) + 1))
                last = len(steps)
            waiting.append((last, left, right))
    steps.append((leaf[-1], slots - 1, len(steps) + 1))
    return np.array(steps), np.array([*leaf, len(steps)]), len(steps) + 1
