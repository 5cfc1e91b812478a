"""Lower bound on the cost of any plan with the fewest zones.

Places used, zones' trees and the trenches between them make a tree out of the water entry in which every head has one
trench coming in: a capacitated tree with places to open. Its linear relaxation, tightened by what capacities ask
(`cuts`), bounds every plan from below. On small yards the bound is raised by cases: plans that open a few places, by
the set of these (`open_sets`), and plans that open more, all together. The least bound of all cases holds; the case of
least bound is always cut next. Where that is not near enough, the plans that open few places are bounded by whole
zones (`whole_zones`).
"""

from collections.abc import Sequence

import numpy as np

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.bounds.open_sets import SETTLED, OpenSets
from rillwright.solvers.zoning.bounds.programme import Programme
from rillwright.solvers.zoning.bounds.whole_zones import WholeZones
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["cost_bound"]

_ROUNDS = 40
_EVERY_ROUND = 240  # heads up to which all rounds are run
_WIDE_ROUNDS = 6_000  # over the number of heads, above that
_CASE_ROUNDS = 4  # of cutting a case, at a time
_TRIES = 3  # times that cutting a case may raise nothing, each with twice the rounds of the last
_ALL_ROUNDS = 250_000  # of all cases at effort 1, over the number of heads
_WHOLE = 100  # heads up to which whole zones bound plans of a few places
_WHOLE_ROUNDS = 18_000  # of making whole zones at effort 1, over the number of heads


def cost_bound(
    task: ZoneTask, counts: Sequence[int], *, effort: float = 1.0, enough: float = np.inf, watch: Watch
) -> float | None:
    """Bound [currency] on openings and trenches, with counts[g] zones in group g; None when none was reached.

    Parameters: effort, of the cases; without them at 0; enough [currency], a bound that whole zones need not raise.
    Each round's programme, corrected for what it leaves out, is a relaxation: the bound holds whenever the rounds stop.
    """
    heads = len(task.flow)
    if effort == 0:
        return _settled(Programme(task, counts), _ROUNDS if heads <= _EVERY_ROUND else _WIDE_ROUNDS // heads, watch)
    few = OpenSets(task, counts)
    many = _ManyPlaces(task, counts, few.size + 1)
    bound = _raised((few, many), effort * _ALL_ROUNDS / heads, np.inf, watch)
    if few.bound < enough and 1 < heads <= _WHOLE and not watch.over():
        bound = _raised((WholeZones(few), many), effort * _WHOLE_ROUNDS / heads, enough, watch)
    return bound or None


def _raised(sides: "tuple[OpenSets | WholeZones, _ManyPlaces]", rounds: float, enough: float, watch: Watch) -> float:
    """Least bound of the sides, raised by so many rounds in all, or until it is enough."""
    spent = idle = 0
    while spent < rounds and idle < _TRIES and not watch.over():
        side = min(sides, key=lambda one: one.bound)
        if side.bound >= enough:
            break
        more, raised = side.work(_CASE_ROUNDS << idle, watch)
        spent, idle = spent + more, 0 if raised else idle + 1
    return min(side.bound for side in sides)


def _settled(programme: Programme, rounds: int, watch: Watch) -> float | None:
    """Best bound of rounds of solving and cutting; stops when it has settled."""
    best: float | None = None
    slow = 0
    for _ in range(rounds):
        value = programme.solve(watch)
        if value is None:
            break
        slow = slow + 1 if best is not None and value < best + SETTLED * abs(best) else 0
        best = value if best is None else max(best, value)
        if slow >= 3 or not programme.cut() or watch.over():
            break
    return best


class _ManyPlaces:
    """Bound on the plans that open so many places or more."""

    def __init__(self, task: ZoneTask, counts: Sequence[int], fewest: int) -> None:
        self.bound = np.inf  # [currency]
        if fewest <= len(task.opening):
            self._programme, self.bound = Programme(task, counts), 0.0
            self._programme.open_at_least(fewest)

    def work(self, rounds: int, watch: Watch) -> tuple[int, bool]:
        """Raise the bound by rounds of solving and cutting. Returns the rounds, and whether it was raised."""
        before = self.bound
        self.bound = max(before, _settled(self._programme, rounds, watch) or 0.0)
        return rounds, bool(self.bound > before * (1 + SETTLED))
