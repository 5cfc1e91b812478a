"""The order of the steps for one crew: least rent, then the earliest finish, then the order of a usual build.

Statement. Given are mean durations, what follows what, whole days that must pass between, and the room of each day.
One crew does one step at a time; a step may run over nights. The rented machine's steps stand in one block. The rent
is the cheapest mix of day and week rents over the days from the block's first to its last. Minimised first is the
rent, at that rent the finish, at that finish the sum of begins weighted by the usual order, which only settles ties.
Constraint programming by CP-SAT, one worker, deterministic limits; the first two are proven or `proven` is False.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from rillwright.errors import SolverError
from rillwright.solvers.cpsat import new_solver
from rillwright.solvers.guide.calendar import Calendar
from rillwright.solvers.guide.walk import Arc, walk

__all__ = ["MINUTE", "Order", "Task", "order_steps"]

MINUTE = 60  # [s]
WORK = 20.0  # of CP-SAT's deterministic time, for rent and finish
TIDY = 2.0  # of it, for the usual order


@dataclass(frozen=True, slots=True)
class Order:
    """When each step begins and ends on the clock of work [s], in the order of begins."""

    begins: Mapping[str, float]
    ends: Mapping[str, float]
    proven: bool


@dataclass(frozen=True, slots=True)
class Task:
    """The steps to be put in order, and what they must keep to."""

    durations: Mapping[str, float]  # [s] by step, in the usual order, which is one that the arcs allow
    arcs: Sequence[Arc]  # among the steps, and from done ones
    waits: Mapping[str, int]  # [days] by name
    done: Mapping[str, int]  # day on which each done step ended
    calendar: Calendar  # with room for all of it
    block: Collection[str]  # steps of the rented machine
    together: Collection[str]  # that must follow one another within one day, when a day has room for them
    rent: Callable[[int], float]  # [currency] by days


def order_steps(task: Task, *, seed: int = 0) -> Order:
    """Find the order of the steps. Errors: SolverError when the calendar is too short."""
    model = _Model(task)
    model.hint(_usual(task))
    main = model.solve(model.goal, seed=seed, work=WORK)
    model.hold(round(main.objective_value))
    tidy = model.solve(model.tidiness, seed=seed, work=TIDY)
    begins = {step: MINUTE * tidy.value(var) for step, var in model.begin.items()}
    order = sorted(begins, key=lambda step: (begins[step], list(task.durations).index(step)))
    ends = {step: begins[step] + MINUTE * model.takes[step] for step in order}
    return Order({step: float(begins[step]) for step in order}, ends, model.proven)


def _usual(task: Task) -> Mapping[str, float]:
    walked = walk(
        list(task.durations),
        durations={step: np.array([_minutes(d) * MINUTE]) for step, d in task.durations.items()},
        arcs=task.arcs,
        waits={name: np.array([days]) for name, days in task.waits.items()},
        done=task.done,
        mornings=frozenset({"fetch"}),
        before=task.calendar.before[None, :],
    )
    return {step: float(at[0]) for step, at in walked.begins.items()}


def _minutes(seconds: float) -> int:
    return max(round(seconds / MINUTE), 1)


class _Model:
    """The model in CP-SAT; time in whole minutes on the clock of work."""

    def __init__(self, task: Task) -> None:
        from ortools.sat.python import cp_model

        self._cp: Any = cp_model
        self._model: Any = cp_model.CpModel()
        self._before = [int(v) for v in np.concatenate(([0], np.cumsum(task.calendar.room // MINUTE)))]
        self._last = self._before[-1]
        self.takes = {step: _minutes(duration) for step, duration in task.durations.items()}
        self.begin: dict[str, Any] = {s: self._model.new_int_var(0, self._last, f"begin {s}") for s in task.durations}
        self._end_days: dict[str, Any] = {}
        self._model.add_no_overlap(
            [self._model.new_fixed_size_interval_var(b, self.takes[s], s) for s, b in self.begin.items()]
        )
        finish = self._model.new_int_var(0, self._last, "finish")
        self._model.add_max_equality(finish, [self._end(step) for step in self.begin])
        for first, then, wait in task.arcs:
            self._follow(first, then, task.waits.get(wait, 0), task.done)
        self._keep_together([step for step in task.together if step in self.begin])
        self.goal = self._rent([step for step in task.block if step in self.begin], task.rent) * self._last + finish
        self.tidiness = sum((len(self.begin) - rank) * begin for rank, begin in enumerate(self.begin.values()))
        self.proven = False

    def hint(self, begins: Mapping[str, float]) -> None:
        """Begin the search at known begins [s]."""
        for step, at in begins.items():
            self._model.add_hint(self.begin[step], round(at / MINUTE))

    def hold(self, goal: int) -> None:
        """Let nothing be worse than a goal from here on."""
        self._model.add(self.goal <= goal)

    def solve(self, goal: Any, *, seed: int, work: float) -> Any:
        """Minimise a goal; the first call says whether its end is proven."""
        self._model.minimize(goal)
        solver = new_solver(seed=seed, work=work)
        status = solver.solve(self._model)
        if status not in (self._cp.OPTIMAL, self._cp.FEASIBLE):
            raise SolverError("no order of the steps was found within the calendar")
        if goal is self.goal:
            self.proven = status == self._cp.OPTIMAL
        self._model.clear_hints()
        self.hint({step: MINUTE * solver.value(begin) for step, begin in self.begin.items()})
        return solver

    def _end(self, step: str) -> Any:
        return self.begin[step] + self.takes[step]

    def _end_day(self, step: str) -> Any:
        """Day on which a step ends: the one whose room its last minute takes."""
        if step not in self._end_days:
            day = self._model.new_int_var(0, len(self._before) - 2, f"end day {step}")
            self._within(day, self._end(step) - 1)
            self._end_days[step] = day
        return self._end_days[step]

    def _within(self, day: Any, minute: Any) -> None:
        """Tie a day to a minute that it has room for."""
        low, high = (self._model.new_int_var(0, self._last, "") for _ in range(2))
        self._model.add_element(day, self._before[:-1], low)
        self._model.add_element(day, self._before[1:], high)
        self._model.add(minute >= low)
        self._model.add(minute < high)

    def _follow(self, first: str, then: str, wait: int, done: Mapping[str, int]) -> None:
        last = len(self._before) - 1
        if first in done:
            if wait:
                self._model.add(self.begin[then] >= self._before[min(max(done[first] + wait, 0), last)])
            return
        self._model.add(self.begin[then] >= self._end(first))
        if wait:
            ready = self._model.new_int_var(0, self._last, "")
            table = [self._before[min(day + wait, last)] for day in range(last)]
            self._model.add_element(self._end_day(first), table, ready)
            self._model.add(self.begin[then] >= ready)

    def _keep_together(self, steps: Sequence[str]) -> None:
        days = [high - low for low, high in pairwise(self._before) if high > low]
        if len(steps) > 1 and sum(self.takes[step] for step in steps) <= min(days):
            day = self._end_day(steps[-1])
            self._within(day, self.begin[steps[0]])
            for step, after in pairwise(steps):
                self._model.add(self.begin[after] == self._end(step))

    def _rent(self, block: Sequence[str], rent: Callable[[int], float]) -> Any:
        """Rent in hundredths over the days of the block, whose steps stand in one piece."""
        if not block:
            return 0
        days = len(self._before) - 1
        low, high = (self._model.new_int_var(0, self._last, "") for _ in range(2))
        self._model.add_min_equality(low, [self.begin[step] for step in block])
        self._model.add_max_equality(high, [self._end(step) for step in block])
        self._model.add(high - low == sum(self.takes[step] for step in block))
        first, last = (self._model.new_int_var(0, days - 1, "") for _ in range(2))
        self._within(first, low)
        self._within(last, high - 1)
        cost = [round(100 * rent(n)) for n in range(days + 1)]
        charged = self._model.new_int_var(0, max(cost), "rent")
        self._model.add_element(last - first + 1, cost, charged)
        return charged
