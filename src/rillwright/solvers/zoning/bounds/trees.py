"""Cheapest trees of heads under a zone's capacity, at prices for heads and trenches: the pricing of whole zones.

A tree out of a head carries the whole-number loads of its heads, a share of the capacity each, rounded down, so that
every true zone is among the trees. A head may come twice, but no head is its own branch's branch, and none branches
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
    """Trees of heads that share arcs of finite cost, with loads in parts of a zone's capacity."""

    def __init__(self, arc: Floats, share: Floats, parts: int) -> None:
        heads = len(share)
        loads = np.floor(share * parts + 1e-9).astype(np.int64)
        self.load, parts = np.maximum(1, loads), parts + int(np.sum(loads == 0))  # what is rounded up finds more room
        ranked = np.argsort(np.where(np.eye(heads, dtype=bool), np.inf, arc), axis=1, kind="stable")[:, : heads - 1]
        ranked = np.where(np.isfinite(np.take_along_axis(arc, ranked, axis=1)), ranked, -1)
        slots = max(1, min(_NEAR, heads - 1))
        self._near, self._far = (np.ascontiguousarray(part) for part in np.hsplit(ranked, [slots]))
        slot = np.full((heads, heads), slots)
        row, column = np.nonzero(self._near >= 0)
        slot[row, self._near[row, column]] = column
        self._back = np.where(self._near >= 0, slot[self._near, np.arange(heads)[:, None]], slots)
        self._steps, self._leaf, tables = _steps(slots)
        self._came = {int(table): (int(before), int(slot)) for before, slot, table in self._steps}
        self._table = np.empty((heads, parts + 1, tables))
        self._cost = np.empty((heads, slots + 1, parts))
        self._reached = np.empty((heads, slots + 1, parts), dtype=np.int64)
        self._number = np.zeros((heads, slots + 1), dtype=np.int64)
        self._arc: Floats = arc

    def cheapest(self, arc: Floats) -> Floats:
        """Cost [currency] of the cheapest tree out of each head, 0 for the head alone, by the cost of each arc."""
        from rillwright.solvers.zoning.bounds.tree_kernel import cheapest_trees

        self._arc, ways = arc, (self._near, self._back, self._far, self._steps, self._leaf)
        cheapest_trees(arc, self.load, *ways, self._table, self._cost, self._reached, self._number)
        found: Floats = self._table[:, -1, self._leaf[-1]]
        return found

    def arcs(self, head: int) -> list[tuple[int, int]]:
        """Arcs of the cheapest tree out of a head, each as often as it occurs."""
        arcs, waiting = [], [(head, len(self._leaf) - 1, self._table.shape[1] - 1)]
        while waiting:
            head, slot, total = waiting.pop()
            table = int(self._leaf[slot])
            while self._table[head, total, table] < 0:
                branch, table = self._branch(head, table, total)
                if branch is not None:
                    arcs.append((head, branch[0]))
                    waiting.append(branch)
                    total -= branch[2]
        return arcs

    def _branch(self, head: int, table: int, total: int) -> tuple[tuple[int, int, int] | None, int]:
        """How a table came to its cost at a load: a branch, as head, slot and load, or none; and the table before."""
        cost = self._table[head, total, table]
        if table:
            before, slot = self._came[table]
            if self._table[head, total, before] == cost:
                return None, before
            other, back = int(self._near[head, slot]), int(self._back[head, slot])
            return self._taken(head, before, total, other, back, cost), before
        while self._table[head, total - 1, 0] == cost:
            total -= 1
        others = (int(other) for other in self._far[head] if other >= 0)
        far = (self._taken(head, 0, total, other, len(self._leaf) - 1, cost) for other in others)
        return next(branch for branch in far if branch is not None), 0

    def _taken(
        self, head: int, table: int, total: int, other: int, slot: int, cost: float
    ) -> tuple[int, int, int] | None:
        """The branch to another head that makes up a cost with what a table holds at the rest of the load."""
        steps = self._number[other, slot]
        load = self._reached[other, slot, :steps]
        rest = np.maximum(total - load, 0)
        made = self._table[head, rest, table] + (self._arc[head, other] + self._cost[other, slot, :steps])
        found = np.flatnonzero(made == cost)
        return (other, slot, int(load[found[0]])) if len(found) else None


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
