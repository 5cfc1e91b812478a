"""Lower bound on the cost of any plan with the fewest zones.

Places used, zones' trees and the trenches between them make a tree out of the water entry in which every head has one
trench coming in: a capacitated tree with places to open. Its linear relaxation, tightened by what capacities ask
(`cuts`), bounds every plan from below. On small yards the bound is raised by cases: one place open or more, and which
is the first of them in a fixed order.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.programme import Programme
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["cost_bound"]

_ROUNDS = 40
_EVERY_ROUND = 240  # heads up to which all rounds are run
_WIDE_ROUNDS = 6_000  # over the number of heads, above that
_CASE_ROUNDS = 4  # of cutting a case, at a time
_TRIES = 3  # times that cutting a case may raise nothing, each with twice the rounds of the last
_ALL_ROUNDS = 5000  # of all cases at effort 1, over the number of heads; at least enough to work each case twice
_LEAST = 1e-4  # relative gain of a round below which the bound has settled


def cost_bound(task: ZoneTask, counts: Sequence[int], *, effort: float = 1.0, watch: Watch) -> float | None:
    """Bound [currency] on openings and trenches, with counts[g] zones in group g; None when none was reached.

    Parameters: effort, of the cases; without them at 0. Each round's programme, corrected for the trenches it leaves
    out, is a relaxation: the bound holds whenever the rounds stop.
    """
    programme = Programme(task, counts)
    heads = len(task.flow)
    best = _settled(programme, _ROUNDS if heads <= _EVERY_ROUND else _WIDE_ROUNDS // heads, watch)
    return None if best is None else _branched(programme, best, effort, watch)


def _settled(programme: Programme, rounds: int, watch: Watch) -> float | None:
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


def _branched(programme: Programme, root: float, effort: float, watch: Watch) -> float:
    """Bound raised by cases, the least of them first: one open place or more, then which is the first to be open.

    A plan falls into one case, so the least bound of the cases holds. The case of least bound is cut and parted or,
    when its first place is known, cut further, until that raises it no more. Cases with a head that none of their
    places may serve hold no plan.
    """
    order, legal = programme.likely_places(), programme.task.legal
    number = len(order)
    cases = [_Case(root, 1, 1), _Case(root, 2, number)] if number > 1 else []
    budget = effort * max(_ALL_ROUNDS / len(programme.task.flow), 2 * (number + _CASE_ROUNDS))
    spent = idle = 0
    while cases and spent < budget and idle < _TRIES and not watch.over():
        case = min(cases, key=lambda one: one.bound)
        if case.rounds and case.first is None:
            cases.remove(case)
            cases += [
                _Case(case.bound, case.least, case.most, first)
                for first in range(number - case.least + 1)
                if legal[order[first : first + 1 if case.most == 1 else number]].any(axis=0).all()
            ]
            continue
        held = [] if case.first is None else [order[case.first]]
        allowed = held if held and case.most == 1 else order[case.first or 0 :]
        programme.open_places((case.least, case.most), held, allowed)
        more = _CASE_ROUNDS << idle if case.rounds or case.first is None else 1
        value = _settled(programme, more, watch)
        case.rounds, spent = case.rounds + more, spent + more
        raised = case.bound if value is None else max(value, case.bound)
        if raised > case.bound + _LEAST * abs(case.bound):
            idle = 0
        elif more > 1 and case.first is not None:
            idle += 1
        case.bound = raised
    return min((case.bound for case in cases), default=root)
