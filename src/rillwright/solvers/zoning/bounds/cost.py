"""Lower bound on the cost of any plan with the fewest zones.

Places used, zones' trees and the trenches between them make a tree out of the water entry in which every head has one
trench coming in: a capacitated tree with places to open. Its linear relaxation, tightened by what capacities ask
(`cuts`), bounds every plan from below. On small yards the bound is raised by cases: plans that open a single place, by
that place (`one_place`), and plans that open more, by the first one or two of them in a fixed order. A plan falls into
one case, so the least bound of all cases holds; the case of least bound is always cut next. Where that is not near
enough, the plans that open a single place are bounded by whole zones (`whole_zones`).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.bounds.one_place import SETTLED, OnePlace
from rillwright.solvers.zoning.bounds.programme import Programme
from rillwright.solvers.zoning.bounds.whole_zones import WholeZones
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["cost_bound"]

_ROUNDS = 40
_EVERY_ROUND = 240  # heads up to which all rounds are run
_WIDE_ROUNDS = 6_000  # over the number of heads, above that
_CASE_ROUNDS = 4  # of cutting a case, at a time
_TRIES = 3  # times that cutting a case may raise nothing, each with twice the rounds of the last
_ALL_ROUNDS = 80_000  # of all cases at effort 1, over the number of heads; at least enough to work each case twice
_WHOLE = 100  # heads up to which whole zones bound a single place
_WHOLE_ROUNDS = 12_000  # of making whole zones at effort 1, over the number of heads
_PARTED = 1e-3  # relative gain below which plans of several places are parted by the first of them
_FIRST = 2  # places that such a case knows at most


def cost_bound(
    task: ZoneTask, counts: Sequence[int], *, effort: float = 1.0, enough: float = np.inf, watch: Watch
) -> float | None:
    """Bound [currency] on openings and trenches, with counts[g] zones in group g; None when none was reached.

    Parameters: effort, of the cases; without them at 0; enough [currency], a bound that whole zones need not raise.
    Each round's programme, corrected for what it leaves out, is a relaxation: the bound holds whenever the rounds stop.
    """
    heads, places = len(task.flow), len(task.opening)
    if effort == 0:
        return _settled(Programme(task, counts), _ROUNDS if heads <= _EVERY_ROUND else _WIDE_ROUNDS // heads, watch)
    one, several = OnePlace(task, counts), _Several(task, counts)
    bound = _raised((one, several), effort * max(_ALL_ROUNDS / heads, 2 * (places + _CASE_ROUNDS)), np.inf, watch)
    if one.bound < enough and 1 < heads <= _WHOLE and not watch.over():
        bound = _raised((WholeZones(one), several), effort * _WHOLE_ROUNDS / heads, enough, watch)
    return bound or None


def _raised(sides: "tuple[OnePlace | WholeZones, _Several]", rounds: float, enough: float, watch: Watch) -> float:
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


@dataclass(slots=True)
class _Case:
    """Some of the plans that open two places or more: those whose first ones in the order are known, or all."""

    bound: float = 0.0
    first: tuple[int, ...] = ()  # in the order; they are open, and others up to the last of them closed
    seen: bool = False


class _Several:
    """Bound on the plans that open two places or more, by cases."""

    def __init__(self, task: ZoneTask, counts: Sequence[int]) -> None:
        self._programme, self._order = Programme(task, counts), list(range(len(task.opening)))
        self._cases = [_Case()] if len(self._order) > 1 else []

    @property
    def bound(self) -> float:
        """Least of the bounds [currency]; infinite without a case."""
        return min((case.bound for case in self._cases), default=np.inf)

    def work(self, rounds: int, watch: Watch) -> tuple[int, bool]:
        """Raise the least bound by rounds of solving and cutting; one round for a case of known first places at first.

        Returns the rounds, and whether there is reason to go on: the case was raised, or it is seen or parted now.
        """
        case = min(self._cases, key=lambda one: one.bound)
        rounds = rounds if case.seen or not case.first else 1
        held = [self._order[k] for k in case.first]
        self._programme.open_places((2, len(self._order)), held, [*held, *self._later(case)])
        before, value = case.bound, _settled(self._programme, rounds, watch)
        case.bound = max(before, value or 0.0)
        fresh, case.seen = bool(case.first) and not case.seen, True
        if not fresh and len(case.first) < _FIRST and case.bound <= before * (1 + _PARTED):
            self._part(case)
            return rounds, True
        return rounds, fresh or case.bound > before * (1 + SETTLED)

    def _later(self, case: _Case) -> list[int]:
        """Places that a case leaves open or closed."""
        return self._order[case.first[-1] + 1 if case.first else 0 :]

    def _part(self, case: _Case) -> None:
        """Replace a case by one for each next place; without those in which some head has no place."""
        if not case.first:
            self._order = self._programme.likely_places()
        legal, known = self._programme.task.legal, [self._order[k] for k in case.first]
        next_ = range(case.first[-1] + 1 if case.first else 0, len(self._order) - (not case.first))
        parts = (k for k in next_ if legal[[*known, *self._order[k:]]].any(axis=0).all())
        self._cases.remove(case)
        self._cases += [_Case(case.bound, (*case.first, k)) for k in parts]
