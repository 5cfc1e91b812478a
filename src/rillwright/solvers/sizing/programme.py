"""The mixed-integer programme of one pair of materials, solved by HiGHS through scipy."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import chain

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import csr_array

from rillwright.errors import SolverError
from rillwright.solvers.sizing.cases import Case, HeadDemand, step_for

__all__ = ["Answer", "Programme"]

_KPA = 1e-3  # pressures stand in the rows in kPa: near 1, as the solver's tolerances expect
_MANY = 4_000  # columns of a site of hectares, where the last part of the proof would take hours
_GAP = 1e-3  # of the cost, left open there
_LESS = 1e-6  # [currency] that sizes must save to be looked for
_SLACK = 1.0  # [Pa] by which a solved row may miss, from the solver's own tolerances


@dataclass(frozen=True, slots=True)
class Answer:
    """Steps found, if any; a lower bound on the cost; whether the search ran to its end."""

    steps: dict[str, int] | None
    bound: float
    settled: bool


class Programme:
    """The cheapest sizes of one case as a mixed-integer programme.

    Variables: one yes/no for each run and size above its smallest; for each group of like heads its highest pressure,
    and what that group lacks in evenness (held at 0 but in `nearest`); an idle last one, so that none is not a case.
    """

    def __init__(self, case: Case, flow_spread: float) -> None:
        self.case = case
        self._first: dict[str, int] = {}
        self._steps = 0
        for run, ladder in case.ladders.items():
            self._first[run] = self._steps - case.lowest[run] - 1  # column of step k is first + k
            self._steps += len(ladder) - 1 - case.lowest[run]
        low, high = case.pressures(case.lowest), case.pressures(case.largest())
        self._groups = [group for group in case.tree.like_groups() if _may_differ(group, low, high, flow_spread)]
        self._rows: list[dict[int, float]] = []
        self._low: list[float] = []
        self._add_ladders()
        for head in case.tree.demands:
            gain, smallest = self._pressure(head)
            self._add(gain, head.least * _KPA - smallest)
        for number, group in enumerate(self._groups):
            self._add_evenness(number, group, flow_spread)

    @property
    def is_large(self) -> bool:
        """Whether it has more columns than a proof to the end is asked for."""
        return self._steps > _MANY

    def relaxed_bound(self) -> float:
        """Least cost with sizes that may be split; infinite when even those do not fit."""
        result = self._run(self._cost_row(), whole=False, time_limit=None)
        return float(result.fun) + self._base_cost() if result.status == 0 else float("inf")

    def solve(self, time_limit: float, *, below: float = math.inf) -> Answer:
        """Cheapest sizes within the limits, if they cost less than so much [currency]."""
        most = below - _LESS - self._base_cost()
        result = self._run(self._cost_row(), whole=True, time_limit=time_limit, most=most)
        if result.status == 2:
            return Answer(None, below - _LESS, settled=True)
        if result.status not in (0, 1):
            raise SolverError(f"pipe sizes: the solver stopped with '{result.message}'")
        bound = result.mip_dual_bound
        low = -float("inf") if bound is None else float(bound) + self._base_cost()
        return Answer(self._read(result) if result.x is not None else None, low, settled=result.status == 0)

    def nearest(self, time_limit: float) -> dict[str, int]:
        """Sizes within all limits but the flow spread: as near to that as can be (within 1 Pa), then cheapest."""
        aim = self._cost_row() * 1e-3 / max(self.case.cost(self.case.largest()), 1e-9)
        aim[self._steps + len(self._groups) : -1] = 1.0
        result = self._run(aim, whole=True, time_limit=time_limit, elastic=True)
        return self.case.largest() if result.x is None else self._read(result)

    def _base_cost(self) -> float:
        return self.case.cost(self.case.lowest)

    def _cost_row(self) -> NDArray[np.float64]:
        row = np.zeros(self._steps + 2 * len(self._groups) + 1)
        for run, costs in self.case.costs.items():
            for step in range(self.case.lowest[run] + 1, len(costs)):
                row[self._first[run] + step] = costs[step] - costs[step - 1]
        return row

    def _add(self, row: dict[int, float], low: float) -> None:
        """Add 'row >= low', unless it holds whatever is chosen."""
        if sum(min(value, 0.0) for value in row.values()) < low or any(column >= self._steps for column in row):
            self._rows.append(row)
            self._low.append(low)

    def _add_ladders(self) -> None:
        """Step k only above step k-1; a run only as wide as what feeds it."""
        tree, widths, lowest = self.case.tree, self.case.widths, self.case.lowest
        for run, first in self._first.items():
            above = tree.parent[run]
            for step in range(lowest[run] + 1, len(widths[run])):
                if step > lowest[run] + 1:
                    self._add({first + step - 1: 1.0, first + step: -1.0}, 0.0)
                need = step_for(widths[above], widths[run][step]) if above is not None else 0
                if above is not None and need > lowest[above]:
                    self._add({self._first[above] + need: 1.0, first + step: -1.0}, 0.0)

    def _pressure(self, head: HeadDemand) -> tuple[dict[int, float], float]:
        """Pressure at a head [kPa]: gain by each step, and the pressure at the smallest sizes."""
        row: dict[int, float] = {}
        smallest = head.available
        for run in head.path:
            lost = self.case.losses[run, head.zone]
            smallest -= float(lost[self.case.lowest[run]])
            for step in range(self.case.lowest[run] + 1, len(lost)):
                row[self._first[run] + step] = float(lost[step - 1] - lost[step]) * _KPA
        return row, smallest * _KPA

    def _add_evenness(self, number: int, group: list[HeadDemand], flow_spread: float) -> None:
        top, lack = self._steps + number, self._steps + len(self._groups) + number
        ratio = (1 - flow_spread) ** (1 / group[0].exponent)
        for head in group:
            gain, smallest = self._pressure(head)
            self._add({**{column: -value for column, value in gain.items()}, top: 1.0}, smallest)
            self._add({**gain, top: -ratio, lack: 1.0}, -smallest)

    def _run(
        self,
        aim: NDArray[np.float64],
        *,
        whole: bool,
        time_limit: float | None,
        elastic: bool = False,
        most: float = math.inf,
    ) -> OptimizeResult:
        """Solve for the least aim, which must be no more than `most`."""
        groups, columns = len(self._groups), len(aim)
        high = np.ones(columns)
        high[self._steps : self._steps + groups] = np.inf
        high[self._steps + groups :] = np.inf if elastic else 0.0
        high[-1] = 0.0
        integrality = np.zeros(columns)
        integrality[: self._steps] = 1 if whole else 0
        options: dict[str, float] = {"mip_rel_gap": 0.0 if columns <= _MANY else _GAP}
        if time_limit is not None:
            options["time_limit"] = time_limit
        beaten = [LinearConstraint(aim[None], -np.inf, most)] if most < math.inf else []
        return milp(
            aim,
            constraints=[*self._limits, *beaten],
            bounds=Bounds(np.zeros(columns), high),
            integrality=integrality,
            options=options,
        )

    @cached_property
    def _limits(self) -> list[LinearConstraint]:
        """The rows laid out for the solver; none for no rows."""
        if not self._rows:
            return []
        values = np.fromiter(chain.from_iterable(row.values() for row in self._rows), dtype=float)
        columns = np.fromiter(chain.from_iterable(self._rows), dtype=np.int32)
        starts = np.cumsum([0, *map(len, self._rows)], dtype=np.int32)
        shape = len(self._rows), self._steps + 2 * len(self._groups) + 1
        return [LinearConstraint(csr_array((values, columns, starts), shape=shape), self._low, np.inf)]

    def _read(self, result: OptimizeResult) -> dict[str, int]:
        chosen = np.rint(result.x[: self._steps]).astype(int)
        steps = {}
        for run, ladder in self.case.ladders.items():
            low = self.case.lowest[run]
            steps[run] = low + int(chosen[self._first[run] + low + 1 : self._first[run] + len(ladder)].sum())
        pressures = self.case.pressures(steps)
        for head in self.case.tree.demands:
            if pressures[head.id] < head.least - _SLACK:
                raise SolverError(f"head '{head.id}': the solver's sizes miss the least pressure")
        return steps


def _may_differ(
    group: list[HeadDemand], low: Mapping[str, float], high: Mapping[str, float], flow_spread: float
) -> bool:
    """Whether sizes could set like heads too far apart; low and high, pressure [Pa] at the smallest and largest."""
    ratio = (1 - flow_spread) ** (1 / group[0].exponent)
    return bool(min(low[head.id] for head in group) < ratio * max(high[head.id] for head in group))
