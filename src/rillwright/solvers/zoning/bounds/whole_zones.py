"""Bounds on the plans that open a few places from a choice of whole zones, not of trenches one by one.

A linear programme chooses, as fractions, trees of heads that may be a zone, each with its trench from the nearest place
of a set (`open_sets`), so that every head is held once; the rows of `cuts` hold for them as well. Trees are made as the
programme asks for them (column generation). At any prices of the rows the cheapest tree out of each head (`trees`)
bounds the plans of every set: a plan costs the openings, what the rows pay, and for each zone no less than the cheapest
tree and its trench.
What a head pays is kept near the best prices so far by leaving it out, or holding it twice, at a cost a little off
them.
Source: du Merle, Villeneuve, Desrosiers and Hansen, Stabilized column generation, Discrete Mathematics 194 (1999),
from memory.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array, vstack

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.bounds.cuts import Rows
from rillwright.solvers.zoning.bounds.open_sets import OpenSets
from rillwright.solvers.zoning.bounds.parts import whole_loads
from rillwright.solvers.zoning.bounds.programme import simplex
from rillwright.solvers.zoning.bounds.trees import Trees

__all__ = ["WholeZones"]

Floats = NDArray[np.float64]

_TREES = 40  # made at a time, at most
_WIDTH = 0.05  # of the mean price of a head, by which prices may differ from the best so far
_NEAR_ENOUGH = 1e-3  # relative difference of programme and bound at which rows are looked for
_GAINED = 1e-5  # relative rise of the bound that is reason to go on where no tree is made and no row broken
_ASKED = 1e-6  # [currency] by which a tree's reduced cost is under zero before it is made


class WholeZones:
    """Raises the bounds that trenches one by one have reached, of each set of places: a place, in what follows.

    Arcs are numbered from head to head, then from the place to each head; the rows are heads, groups, then cuts.
    """

    def __init__(self, settled: OpenSets) -> None:
        import highspy

        self._task, self._counts, self.bounds = settled.task, settled.counts, settled.bounds
        self._link, self._programme = settled.link, settled.programme
        self._arc: Floats = self._programme.cost[:-1]
        heads = self._heads = self._programme.heads
        self._trees = Trees(self._arc, *whole_loads(self._programme.share, self._task.groups, self._counts))
        self._made = csr_array((0, (heads + 1) * heads))  # by tree made, how often it has each arc
        self._holds: Floats = self._first_rows()  # what each arc adds to each row
        self._most = np.concatenate((np.ones(heads), np.array(self._counts, dtype=float)))  # of each row
        self._place, self._reached = -1, np.full(len(self.bounds), -np.inf)  # what the best prices so far give
        self._solver, self._none = simplex(), highspy.kHighsInf
        self._optimal = highspy.HighsModelStatus.kOptimal
        least = np.where(np.arange(len(self._most)) < heads, 1.0, -self._none)
        self._add_rows(least, self._most, np.zeros((len(least), 0)))
        self._add_columns(np.zeros(2 * heads), np.vstack((np.eye(heads, len(least)), -np.eye(heads, len(least)))))
        cuts, self._prices = self._programme.paid  # the best so far, of the rows there were
        self._cut(cuts)

    @property
    def bound(self) -> float:
        """Least of the bounds [currency]; infinite without a place."""
        return float(self.bounds.min(initial=np.inf))

    def work(self, rounds: int, watch: Watch) -> tuple[int, bool]:
        """Raise the least bound by rounds of solving and making trees, as long as it is the least.

        Returns the rounds, and whether there is reason to go on.
        """
        place, spent, going = int(np.argmin(self.bounds)), 0, True
        if place != self._place:
            self._place = place
            self._costs(2 * self._heads, self._made @ self._cost)
        while going and spent < rounds and np.argmin(self.bounds) == place and not watch.over():
            spent += 1
            going = self._round()
        return spent, going

    @property
    def _cost(self) -> Floats:
        """Cost [currency] of each arc, served from the place worked on."""
        cost: Floats = np.append(self._arc, self._link[self._place])
        return cost

    def _round(self) -> bool:
        """Solve the programme, bound all places and make trees; false when nothing is left to do."""
        heads, centre = self._heads, self._prices[: self._heads]
        width = _WIDTH * float(np.abs(centre).mean())
        self._costs(0, np.append(centre + width, width - centre))
        self._solver.run()
        if self._solver.getModelStatus() != self._optimal:
            return False
        solution, value = self._solver.getSolution(), float(self._solver.getInfo().objective_function_value)
        dual = np.array(solution.row_dual)
        dual[heads:] = np.minimum(dual[heads:], 0.0)
        before = self._reached[self._place]
        self._price(dual)
        fresh = self._make(dual)
        if fresh and value + self._task.opening[self._place] - self._reached[self._place] > _NEAR_ENOUGH * value:
            return True
        used = np.array(solution.col_value)[2 * heads :]
        cut = self._cut(self._programme.broken((used @ self._made[: len(used)]).reshape(-1, heads)).worst())
        return cut or bool(self._reached[self._place] > before + _GAINED * value)

    def _price(self, prices: Floats) -> None:
        """Find the cheapest trees at prices of the rows, and raise all bounds by them."""
        worth = (prices @ self._holds).reshape(self._arc.shape[0] + 1, -1)
        cheapest = self._trees.cheapest(self._arc - worth[:-1])
        ways = self._link - worth[-1] + cheapest
        found = self._task.opening + prices @ self._most
        for members, count in zip(self._task.groups, self._counts, strict=True):
            found = found + count * ways[:, list(members)].min(axis=1)
        self.bounds = np.maximum(self.bounds, found)
        if found[self._place] > self._reached[self._place]:
            self._prices, self._reached = prices, found
        self._ranked = np.argsort(ways[self._place], kind="stable")[:_TREES]

    def _make(self, dual: Floats) -> int:
        """Add the cheapest trees found that the programme asks for; returns how many."""
        heads = self._heads
        arcs = [[heads * heads + head, *(i * heads + j for i, j in self._trees.arcs(head))] for head in self._ranked]
        row = np.repeat(np.arange(len(arcs)), [len(some) for some in arcs])
        number = np.concatenate(arcs)
        made = csr_array(coo_array((np.ones(len(row)), (row, number)), shape=(len(arcs), self._made.shape[1])))
        made = made[made @ (self._cost - dual @ self._holds) < -_ASKED]
        self._add_columns(made @ self._cost, made @ self._holds.T)
        self._made = vstack((self._made, made)).tocsr()
        return int(made.shape[0])

    def _cut(self, rows: Rows) -> bool:
        """Add rows; says whether there were any."""
        tail, head = np.divmod(np.arange(self._made.shape[1]), self._heads)
        holds = rows.coefficients(tail, head)
        dear = np.zeros((len(rows), 2 * self._heads))
        self._add_rows(np.full(len(rows), -self._none), rows.most, np.hstack((dear, (self._made @ holds.T).T)))
        self._holds, self._most = np.vstack((self._holds, holds)), np.append(self._most, rows.most)
        return len(rows) > 0

    def _first_rows(self) -> Floats:
        """What arcs add to the rows of heads and groups: one for each arc into the head, and from the place."""
        heads = self._heads
        into = np.tile(np.eye(heads), heads + 1)
        group = np.zeros((len(self._counts), len(into[0])))
        for number, members in enumerate(self._task.groups):
            group[number, heads * heads + np.array(members)] = 1.0
        return np.vstack((into, group))

    def _costs(self, first: int, cost: Floats) -> None:
        columns = first + np.arange(len(cost), dtype=np.int32)
        self._solver.changeColsCost(len(cost), columns, cost)

    def _add_rows(self, least: Floats, most: Floats, values: Floats) -> None:
        part = csr_array(values)
        starts, columns = part.indptr[:-1].astype(np.int32), part.indices.astype(np.int32)
        self._solver.addRows(len(most), least, most, part.nnz, starts, columns, part.data)

    def _add_columns(self, cost: Floats, values: Floats) -> None:
        part, number = csr_array(values), len(cost)
        starts, rows = part.indptr[:-1].astype(np.int32), part.indices.astype(np.int32)
        upper = np.full(number, self._none)
        self._solver.addCols(number, cost, np.zeros(number), upper, part.nnz, starts, rows, part.data)
