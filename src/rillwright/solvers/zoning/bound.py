"""Lower bound on the cost of any plan with the fewest zones.

Places used, zones' trees and the trenches between them make a tree out of the water entry in which every head has one
trench coming in: a capacitated tree with places to open. Its linear relaxation, tightened by what capacities ask
(`cuts`), bounds every plan from below. On small yards the bound is raised by cases: one place open or more, and which
is the first of them in a fixed order.
"""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.cuts import Broken, Cut, broken_sets
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["cost_bound"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

_ROUNDS = 40
_EVERY_ROUND = 240  # heads up to which all rounds are run
_WIDE_ROUNDS = 6_000  # over the number of heads, above that
_PRICINGS = 3  # times that a round prices left-out trenches
_NEAR = 9  # trenches into a head that are columns from the start, of each sort
_CUTS = 150  # in one round
_CASE_ROUNDS = 8  # of cutting a case, at a time
_IDLE = 3  # solves after which a cut that did not bind is dropped
_ALL_ROUNDS = 5000  # of all cases at effort 1, over the number of heads; at least enough to work each case twice
_LEAST = 1e-4  # relative gain of a round below which the bound has settled


def cost_bound(task: ZoneTask, counts: Sequence[int], *, effort: float = 1.0, watch: Watch) -> float | None:
    """Bound [currency] on openings and trenches, with counts[g] zones in group g; None when none was reached.

    Parameters: effort, of the cases; without them at 0. Each round's programme, corrected for the trenches it leaves
    out, is a relaxation: the bound holds whenever the rounds stop.
    """
    programme = _Programme(task, counts)
    heads = len(task.flow)
    best = _settled(programme, _ROUNDS if heads <= _EVERY_ROUND else _WIDE_ROUNDS // heads, watch)
    return None if best is None else _branched(programme, best, effort, watch)


def _settled(programme: "_Programme", rounds: int, watch: Watch) -> float | None:
    """Best bound of rounds of solving and cutting; stops when it has settled."""
    best: float | None = None
    slow = 0
    for _ in range(rounds):
        value = programme.solve(watch)
        if value is None:
            break
        slow = slow + 1 if best is not None and value < best + _LEAST * abs(best) else 0
        best = value if best is None else max(best, value)
        if slow >= 3 or not programme.cut() or watch.over():
            break
    return best


@dataclass(slots=True)
class _Case:
    """Some of the plans: those that open a number of places, of which the first in a fixed order is known or not."""

    bound: float
    least: int  # places open
    most: int
    first: int | None = None  # in the order; the places before it are closed, it is open
    rounds: int = 0


def _branched(programme: "_Programme", root: float, effort: float, watch: Watch) -> float:
    """Bound raised by cases, the least of them first: one open place or more, then which is the first to be open.

    A plan falls into one case, so the least bound of the cases holds. The case of least bound is cut and parted or,
    when its first place is known, cut further, until that raises it no more. Cases with a head that none of their
    places may serve hold no plan.
    """
    order, legal = programme.likely_places(), programme.task.legal
    number = len(order)
    cases = [_Case(root, 1, 1), _Case(root, 2, number)] if number > 1 else []
    budget = effort * max(_ALL_ROUNDS / len(programme.task.flow), 2 * (number + _CASE_ROUNDS))
    spent = 0
    while cases and spent < budget and not watch.over():
        case = min(cases, key=lambda one: one.bound)
        if case.rounds and case.first is None:
            cases.remove(case)
            cases += [
                _Case(case.bound, case.least, case.most, first)
                for first in range(number - case.least + 1)
                if legal[order[first : first + 1 if case.most == 1 else number]].any(axis=0).all()
            ]
            continue
        programme.fix(order, case)
        more = _CASE_ROUNDS if case.rounds or case.first is None else 1
        value = _settled(programme, more, watch)
        case.rounds, spent = case.rounds + more, spent + more
        if value is not None and value > case.bound + _LEAST * abs(case.bound):
            case.bound = value
        elif more > 1 and case.first is not None:
            break
    return min((case.bound for case in cases), default=root)


class _Programme:
    """The linear programme, kept between rounds so that each starts from the last.

    Short trenches alone are columns at first. A left-out trench into a head lowers the bound by no more than its
    reduced cost, and a head has one trench coming in: so the least reduced cost of each head corrects the bound, and
    the trenches concerned become columns.
    """

    def __init__(self, task: ZoneTask, counts: Sequence[int]) -> None:
        from ortools.linear_solver import pywraplp

        self.task = task
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.group = {h: g for g, members in enumerate(task.groups) for h in members}
        zones, infinity = sum(counts), self.solver.infinity()
        self.into = [self.solver.Constraint(1.0, 1.0) for _ in task.flow]
        self.count = [self.solver.Constraint(float(count), float(count)) for count in counts]
        self.place = [self.solver.Constraint(-infinity, 0.0) for _ in task.opening]
        self.open = [self.solver.NumVar(0.0, 1.0, "") for _ in task.opening]
        for variable, row, cost in zip(self.open, self.place, task.opening, strict=True):
            self.solver.Objective().SetCoefficient(variable, float(cost))
            row.SetCoefficient(variable, -float(zones))
        self.value = 0.0
        self.value_in: Floats = np.empty(0)  # of the columns, in the order in which they were added
        self.value_out: Floats = np.empty(0)
        self.value_open: list[float] = []
        self.cuts: list[Cut] = []
        self._stack()
        self.share = np.array(task.flow) / np.array(task.capacity)
        self.least = [
            float(self.share[list(members)].sum()) - (count - 1)
            for members, count in zip(task.groups, counts, strict=True)
        ]
        self.links: dict[tuple[int, int], Any] = {}
        self.inner: dict[tuple[int, int], Any] = {}
        self.outer: dict[tuple[int, int], Any] = {}
        self.inner_cost, self.outer_cost = self._costs()
        self._first_columns()
        self.number = self.solver.Constraint(1.0, infinity)  # of places open
        for variable in self.open:
            self.number.SetCoefficient(variable, 1.0)

    def _costs(self) -> tuple[Floats, Floats]:
        """Cost of each trench; infinite between heads that no zone may hold together and from illegal places."""
        task = self.task
        inner = np.full((len(task.flow), len(task.flow)), np.inf)
        for members in task.groups:
            for i, j in itertools.combinations(members, 2):
                if task.fits((i, j)):
                    inner[i, j] = inner[j, i] = task.trench_cost * task.between[i, j]
        return inner, np.where(task.legal, task.trench_cost * task.reach, np.inf)

    def _first_columns(self) -> None:
        for h in range(len(self.task.flow)):
            for i in np.argsort(self.inner_cost[:, h], kind="stable")[:_NEAR]:
                self._add_inner(int(i), h)
            for p in np.argsort(self.outer_cost[:, h], kind="stable")[:_NEAR]:
                self._add_outer(int(p), h)
        for p in range(len(self.task.opening)):
            for h in np.argsort(self.outer_cost[p], kind="stable")[:3]:
                self._add_outer(p, int(h))

    def _add_inner(self, i: int, j: int) -> None:
        if (i, j) in self.inner or not np.isfinite(self.inner_cost[i, j]):
            return
        arc = self.inner[i, j] = self.solver.NumVar(0.0, self.solver.infinity(), "")
        self.solver.Objective().SetCoefficient(arc, float(self.inner_cost[i, j]))
        self.into[j].SetCoefficient(arc, 1.0)
        leaves = self.inside[:, i] & (self.inside[:, j] != self.outward)
        for k in np.flatnonzero(leaves).tolist():
            self.cuts[k].row.SetCoefficient(arc, -1.0 if self.cuts[k].outward else 1.0)

    def _add_outer(self, p: int, h: int) -> None:
        if (p, h) in self.outer or not np.isfinite(self.outer_cost[p, h]):
            return
        arc = self.outer[p, h] = self.solver.NumVar(0.0, self.solver.infinity(), "")
        self.solver.Objective().SetCoefficient(arc, float(self.outer_cost[p, h]))
        for row in (self.into[h], self.count[self.group[h]], self.place[p]):
            row.SetCoefficient(arc, 1.0)
        for k in np.flatnonzero(self.inside[:, h] & self.outward).tolist():
            self.cuts[k].row.SetCoefficient(arc, 1.0)

    def _stack(self) -> None:
        """Which heads each cut holds, shape (cuts, heads), and which cuts are outward."""
        self.inside = np.array([cut.inside for cut in self.cuts], dtype=bool).reshape(-1, len(self.task.flow))
        self.outward = np.array([cut.outward for cut in self.cuts], dtype=bool)

    def solve(self, watch: Watch) -> float | None:
        """Bound from the programme as it stands, or None when time ran out or short trenches alone cannot do."""
        for _ in range(_PRICINGS):
            self.solver.SetTimeLimit(max(50, int(min(1e6, 1000 * watch.seconds_left()))))
            status = self.solver.Solve()
            if status == self.solver.INFEASIBLE and self._add_all():
                continue
            if status != self.solver.OPTIMAL:
                return None
            self._read()
            lowest = self._price()
            correction = float(np.minimum(lowest, 0.0).sum())
            if correction > -_LEAST * abs(self.value) or watch.over():
                break
        return self.value + correction

    def _read(self) -> None:
        self.value = float(self.solver.Objective().Value())
        self.value_in = np.array([share.solution_value() for share in self.inner.values()])
        self.value_out = np.array([share.solution_value() for share in self.outer.values()])
        self.value_open = [share.solution_value() for share in self.open]
        for cut in self.cuts:
            cut.price = float(cut.row.dual_value())
            cut.idle = 0 if cut.price else cut.idle + 1

    def _price(self) -> Floats:
        """Least reduced cost of a left-out trench into each head; those under zero become columns."""
        into = np.array([row.dual_value() for row in self.into])
        starts = np.array([self.count[self.group[h]].dual_value() for h in range(len(into))])
        place = np.array([row.dual_value() for row in self.place])
        inner, outer = self.inner_cost - into, self.outer_cost - into - starts - place[:, None]
        for cut in self.cuts:
            cut.charge(inner, outer)
        for reduced, known, add in ((inner, self.inner, self._add_inner), (outer, self.outer, self._add_outer)):
            reduced[_ends(known)] = np.inf
            for i, j in np.argwhere(reduced < -1e-9):
                add(int(i), int(j))
        lowest: Floats = np.minimum(inner.min(axis=0), outer.min(axis=0))
        return lowest

    def _add_all(self) -> bool:
        """Make every trench a column; says whether any was left out."""
        before = len(self.inner) + len(self.outer)
        for i, j in np.argwhere(np.isfinite(self.inner_cost)):
            self._add_inner(int(i), int(j))
        for p, h in np.argwhere(np.isfinite(self.outer_cost)):
            self._add_outer(int(p), int(h))
        return len(self.inner) + len(self.outer) > before

    def likely_places(self) -> list[int]:
        """Places in falling share of being open in the last programme, then rising cost."""
        opening = self.task.opening
        return sorted(range(len(self.open)), key=lambda p: (-round(self.value_open[p], 6), opening[p], p))

    def fix(self, order: Sequence[int], case: _Case) -> None:
        """Open and close the places of a case."""
        self.number.SetBounds(float(case.least), float(case.most))
        first, last = (0, len(order)) if case.first is None else (case.first, case.first + 1)
        for at, p in enumerate(order):
            closed = at < first or (at >= last and case.most == 1)
            if at == case.first:
                for h in range(len(self.into)):
                    self._add_outer(p, h)
            self.open[p].SetBounds(float(at == case.first), float(not closed))

    def cut(self) -> bool:
        """Add the broken rows and drop those long idle; says whether any was broken."""
        for cut in self.cuts:
            if cut.idle >= _IDLE:
                cut.row.Clear()
                cut.row.SetBounds(-self.solver.infinity(), self.solver.infinity())
        self.cuts = [cut for cut in self.cuts if cut.idle < _IDLE]
        wide = self._wide()
        for p, h in wide:
            self.links[p, h] = self.solver.Add(self.outer[p, h] <= self.open[p])
        seen = {(cut.heads, cut.outward) for cut in self.cuts}
        broken = self._broken()
        broken = [one for one in broken if (one.inside, one.outward) not in seen]
        broken.sort(key=lambda one: (-one.excess, one.outward, sorted(one.inside)))
        self._add_rows(broken[:_CUTS])
        return bool(wide or broken)

    def _wide(self) -> list[tuple[int, int]]:
        """Trenches from places that the last solution uses more than it opens their place."""
        number = len(self.value_out)  # pricing may have added columns since
        arcs = list(self.outer)[:number]
        over = self.value_out > np.array(self.value_open)[[p for p, _ in arcs]] + 1e-6
        return [arcs[k] for k in np.flatnonzero(over).tolist() if arcs[k] not in self.links]

    def _add_rows(self, broken: Sequence[Broken]) -> None:
        arcs = [*self.inner.values(), *self.outer.values()]
        (i, j), (_, h) = _ends(self.inner), _ends(self.outer)
        for one in broken:
            row = self.solver.Constraint(-self.solver.infinity(), float(one.most))
            cut = Cut.of(row, one, len(self.into))
            self.cuts.append(cut)
            coefficients = np.concatenate((cut.of_heads(i, j), cut.of_places(h)))
            held = np.flatnonzero(coefficients)
            for at, coefficient in zip(held.tolist(), coefficients[held].tolist(), strict=True):
                row.SetCoefficient(arcs[at], coefficient)
        self._stack()

    def _broken(self) -> list[Broken]:
        """Rows that the last solution breaks, group by group."""
        heads = len(self.group)
        arcs = np.zeros((heads, heads))
        i, j = _ends(self.inner)
        arcs[i[: len(self.value_in)], j[: len(self.value_in)]] = self.value_in
        root: Floats = np.zeros(heads)
        np.add.at(root, _ends(self.outer)[1][: len(self.value_out)], self.value_out)
        found: list[Broken] = []
        for members, least in zip(self.task.groups, self.least, strict=True):
            order = list(members)
            found += broken_sets(members, self.share[order], arcs[np.ix_(order, order)], root[order], least)
        return found


def _ends(arcs: Mapping[tuple[int, int], Any]) -> tuple[Whole, Whole]:
    """Numbers of the two ends of each arc."""
    ends = np.array(list(arcs), dtype=np.int64).reshape(-1, 2)
    return ends[:, 0], ends[:, 1]
