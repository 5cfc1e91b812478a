"""The linear programme of the bound on zones' cost, kept between rounds so that each starts from the last.

Trenches are numbered by their ends: the tail is a head, or a place past the heads; the head is a head. Short trenches
alone are columns at first. A left-out trench into a head lowers the bound by no more than its reduced cost, and a head
has one trench coming in: so the least reduced cost of each head corrects the bound, and the trenches concerned become
columns.
"""

import itertools
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.bounds.cuts import Rows, broken_sets
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["Programme", "simplex"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]

_PRICINGS = 3  # times that a round prices left-out trenches
_NEAR = 9  # trenches into a head that are columns from the start, of each sort
_OF_PLACE = 3  # trenches out of a place that are
_IDLE = 3  # solves after which a row that did not bind is dropped
_SETTLED = 1e-4  # share of its value by which left-out trenches may lower the bound


def simplex() -> Any:
    """Solver that starts each time from its last basis."""
    import highspy

    solver = highspy.Highs()
    for name, value in (("output_flag", False), ("threads", 1), ("presolve", "off"), ("solver", "simplex")):
        solver.setOptionValue(name, value)
    return solver


class Programme:
    """Places open and trenches used at least cost. Rows: heads, groups, places, the number of these, then cuts."""

    def __init__(self, task: ZoneTask, counts: Sequence[int]) -> None:
        import highspy

        self.task, self.heads, self.places = task, len(task.flow), len(task.opening)
        self._group = np.empty(self.heads, dtype=np.int64)
        for number, members in enumerate(task.groups):
            self._group[list(members)] = number
        self.share = np.array(task.flow) / np.array(task.capacity)
        self._least = [
            float(self.share[list(members)].sum()) - (count - 1)
            for members, count in zip(task.groups, counts, strict=True)
        ]
        self.cost = self._costs()
        self._column = ~np.isfinite(self.cost)  # by trench, whether it is one, or none at all
        self._linked = np.zeros((self.places, self.heads), dtype=bool)
        self._tail, self._head = np.zeros((2, 0), dtype=np.int64)  # of the columns, as they were added
        self._used: Floats = np.zeros(0)  # of each column in the last solution
        self._open: Floats = np.zeros(self.places)
        self.value = 0.0  # of the last solution, in which no trench is left out
        self.worth: Floats = np.zeros_like(self.cost)  # what the last solution's rows pay for each trench
        self._cuts = Rows.none(self.heads)
        self._rows = np.zeros(0, dtype=np.int32)  # of the cuts, among all
        self._idle = np.zeros(0, dtype=np.int64)  # by cut, solves since it was last binding
        self._starts, self._from = self.heads, self.heads + len(task.groups)  # first rows of groups and of places
        self._number = self._from + self.places  # row of the number of places open
        self.paid = self._cuts, np.zeros(self._from)  # cuts of the last solution; its prices of heads, groups and these
        self._solver = simplex()
        self._status, self._none = highspy.HighsModelStatus, highspy.kHighsInf
        self._first_rows(counts)
        self._add_columns(self._near())

    def _costs(self) -> Floats:
        """Cost of each trench; infinite between heads that no zone may hold together and from illegal places."""
        task = self.task
        between = np.full((self.heads, self.heads), np.inf)
        for members in task.groups:
            for i, j in itertools.combinations(members, 2):
                if task.fits((i, j)):
                    between[i, j] = between[j, i] = task.trench_cost * task.between[i, j]
        return np.vstack((between, np.where(task.legal, task.trench_cost * task.reach, np.inf)))

    def _first_rows(self, counts: Sequence[int]) -> None:
        """One trench into each head, a zone each of a group's starts, none from a closed place, and a place open."""
        exact = np.concatenate((np.ones(self.heads), np.array(counts, dtype=float)))
        most = np.concatenate((exact, np.zeros(self.places), [self._none]))
        least = np.concatenate((exact, np.full(self.places, -self._none), [1.0]))
        self._add_rows(least, most, np.zeros((0, 2), dtype=np.int64), np.zeros(0))
        place = np.arange(self.places)
        ends = np.concatenate(
            (np.stack((place, self._from + place), 1), np.stack((place, np.full(self.places, self._number)), 1))
        )
        values = np.concatenate((np.full(self.places, -float(sum(counts))), np.ones(self.places)))
        self._add(np.array(self.task.opening, dtype=float), np.ones(self.places), ends, values)

    def _near(self) -> Mask:
        """Trenches that are columns from the start."""
        near, every = np.zeros_like(self._column), np.arange(self.heads)
        between, places = self.cost[: self.heads], self.cost[self.heads :]
        near[np.argsort(between, axis=0, kind="stable")[:_NEAR], every] = True
        near[self.heads + np.argsort(places, axis=0, kind="stable")[:_NEAR], every] = True
        nearest = np.argsort(places, axis=1, kind="stable")[:, :_OF_PLACE]
        near[self.heads + np.arange(self.places)[:, None], nearest] = True
        return near

    def _add(self, cost: Floats, most: Floats, ends: Whole, values: Floats) -> None:
        """Add columns of 0 or more; ends (n, 2), column among them and row of each value."""
        order = np.argsort(ends[:, 0], kind="stable")
        starts = np.searchsorted(ends[order, 0], np.arange(len(cost))).astype(np.int32)
        rows = ends[order, 1].astype(np.int32)
        self._solver.addCols(len(cost), cost, np.zeros(len(cost)), most, len(rows), starts, rows, values[order])

    def _add_rows(self, least: Floats, most: Floats, ends: Whole, values: Floats) -> None:
        """Add rows; ends (n, 2), row among them, rising, and column of each value."""
        starts = np.searchsorted(ends[:, 0], np.arange(len(most))).astype(np.int32)
        self._solver.addRows(len(most), least, most, len(ends), starts, ends[:, 1].astype(np.int32), values)

    def _add_columns(self, wanted: Mask) -> bool:
        """Make trenches columns that are not yet; says whether there were any."""
        tail, head = np.nonzero(wanted & ~self._column)
        if len(tail) == 0:
            return False
        self._column[tail, head] = True
        column, placed = np.arange(len(tail)), np.flatnonzero(tail >= self.heads)
        row, held = np.nonzero(coefficients := self._cuts.coefficients(tail, head))
        ends = np.concatenate(
            (
                np.stack((column, head), 1),
                np.stack((placed, self._starts + self._group[head[placed]]), 1),
                np.stack((placed, self._from + tail[placed] - self.heads), 1),
                np.stack((held, self._rows[row]), 1),
            )
        )
        values = np.concatenate((np.ones(len(tail) + 2 * len(placed)), coefficients[row, held]))
        self._add(self.cost[tail, head], np.full(len(tail), self._none), ends, values)
        self._tail, self._head = np.concatenate((self._tail, tail)), np.concatenate((self._head, head))
        return True

    def solve(self, watch: Watch) -> float | None:
        """Bound from the programme as it stands, or None when time ran out or short trenches alone cannot do."""
        for _ in range(_PRICINGS):
            left = max(0.05, min(1e6, watch.seconds_left()))
            self._solver.setOptionValue("time_limit", self._solver.getRunTime() + left)
            self._solver.run()
            status = self._solver.getModelStatus()
            if status == self._status.kInfeasible and self._add_columns(~self._column):
                continue
            if status != self._status.kOptimal:
                return None
            solution, self.value = self._solver.getSolution(), float(self._solver.getInfo().objective_function_value)
            self._open, self._used = np.split(np.array(solution.col_value), [self.places])
            correction = float(np.minimum(self._price(np.array(solution.row_dual)), 0.0).sum())
            if correction > -_SETTLED * abs(self.value) or watch.over():
                break
        return self.value + correction

    def _price(self, dual: Floats) -> Floats:
        """Least reduced cost of a left-out trench into each head; those under zero become columns."""
        from rillwright.solvers.zoning.bounds.cut_kernels import charged

        price = dual[self._rows]
        self.paid = self._cuts, np.concatenate((dual[: self._from], price))
        self._idle = np.where(price != 0.0, 0, self._idle + 1)
        between, placed = charged(self._cuts.inside, self._cuts.outward, price)
        placed += dual[self._starts :][self._group]
        self.worth = dual[: self.heads] + np.vstack((between, dual[self._from : self._number, None] + placed))
        reduced = np.where(self._column, np.inf, self.cost - self.worth)
        self._add_columns(reduced < -1e-9)
        lowest: Floats = reduced.min(axis=0)
        return lowest

    def serve_from(self, opening: float, link: Floats) -> None:
        """Let the only place be another, by its cost and those of its trenches to heads."""
        self.cost[self.heads] = link
        placed = np.flatnonzero(self._tail >= self.heads)
        columns = np.concatenate(([0], self.places + placed)).astype(np.int32)
        self._solver.changeColsCost(len(columns), columns, np.concatenate(([opening], link[self._head[placed]])))

    def open_at_least(self, places: int) -> None:
        """Leave out the plans that open fewer places."""
        self._solver.changeRowBounds(self._number, float(places), self._none)

    def cut(self) -> bool:
        """Add the broken rows and drop those long idle; says whether any was broken."""
        self._drop_idle()
        wide, broken = self._link(), self.broken(self._use()).worst()
        if len(broken):
            first = self._solver.getNumRow()
            row, column = np.nonzero(coefficients := broken.coefficients(self._tail, self._head))
            ends = np.stack((row, self.places + column), 1)
            self._add_rows(np.full(len(broken), -self._none), broken.most, ends, coefficients[row, column])
            self._cuts += broken
            self._rows = np.concatenate((self._rows, np.arange(first, first + len(broken), dtype=np.int32)))
            self._idle = np.concatenate((self._idle, np.zeros(len(broken), dtype=np.int64)))
        return wide or len(broken) > 0

    def _drop_idle(self) -> None:
        kept = self._idle < _IDLE
        gone = self._rows[~kept]
        if len(gone):
            self._solver.deleteRows(len(gone), gone)
            self._cuts, self._idle, rows = self._cuts[kept], self._idle[kept], self._rows[kept]
            self._rows = (rows - np.searchsorted(gone, rows)).astype(np.int32)

    def _link(self) -> bool:
        """Hold trenches that the last solution uses more than it opens their place to that; says whether any was."""
        column = np.flatnonzero(self._tail[: len(self._used)] >= self.heads)  # pricing may have added columns since
        place, head = self._tail[column] - self.heads, self._head[column]
        wide = (self._used[column] > self._open[place] + 1e-6) & ~self._linked[place, head]
        place, head, column = place[wide], head[wide], column[wide]
        if len(place) == 0:
            return False
        self._linked[place, head] = True
        row = np.arange(len(place)).repeat(2)
        ends = np.stack((row, np.stack((place, self.places + column), 1).ravel()), 1)
        self._add_rows(np.full(len(place), -self._none), np.zeros(len(place)), ends, np.tile([-1.0, 1.0], len(place)))
        return True

    def _use(self) -> Floats:
        """How much the last solution uses each trench."""
        used, number = np.zeros_like(self.cost), len(self._used)
        used[self._tail[:number], self._head[:number]] = self._used
        return used

    def broken(self, used: Floats) -> Rows:
        """Rows that a use of trenches breaks, group by group; used (heads + places, heads)."""
        arcs, root = used[: self.heads], used[self.heads :].sum(axis=0)
        found = Rows.none(self.heads)
        for members, least in zip(self.task.groups, self._least, strict=True):
            found += broken_sets(members, self.share, arcs, root, least)
        return found
