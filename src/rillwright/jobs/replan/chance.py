"""The chance that a change holds: every head of every zone inside its chart's pressure band at once, over draws.

Zones run one at a time, so each is solved in every draw by itself; a change holds in the draws in which all its zones
do. The share for some of its zones is then no less than that for all: branches are cut by it. One set of draws serves
every change with the same supply, so that two changes differ by what they do and not by luck. What is chosen out of
many because it holds in some draws holds less often in others: some draws choose, and others judge what they chose.
In neither is the chance told that a plan is printed with; that comes of draws of its own.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.case import Case
from rillwright.jobs.certainty import drawn_model
from rillwright.jobs.replan.job import Job
from rillwright.jobs.replan.system import Line, System, solver_of
from rillwright.jobs.zone_models import regulators_of
from rillwright.solvers.certainty import AT_ENTRY, DRAWS, YardDraws, ZoneModel, draw_yard, further_zone, run_zone

__all__ = ["Bools", "Chances", "chances_of"]

Bools = NDArray[np.bool_]

_FIRST = 64  # draws that are solved first, then as many again


@dataclass
class _Zone:
    """A zone as far as it is solved."""

    line: Line  # kept alive, as zones are known by the object that they are
    model: ZoneModel
    drawn: YardDraws
    band: tuple[NDArray[np.float64], NDArray[np.float64]]  # least and greatest pressure [Pa] of each head
    solved: Bools  # draws (n,)
    holds: Bools  # draws (n,), those that are not solved taken to hold


def chances_of(job: Job, case: Case, *, sure: float) -> "tuple[Chances, Chances]":
    """Draws that choose, and draws that judge, letting through what misses the wish by their standard error."""
    slack = math.sqrt(sure * (1 - sure) / DRAWS)
    choosing = Chances(job, case, least=sure, seed=case.seed + 1)
    return choosing, Chances(job, case, least=sure - slack, seed=case.seed + 2)


class Chances:
    """Draws of one job's yard on one supply, and in which of them zones hold.

    No more is solved than says whether they hold with the least chance that counts. Draws in which zones failed before
    are solved first, so that this is soon known.
    """

    def __init__(self, job: Job, case: Case, *, least: float, seed: int) -> None:
        self._job, self._case, self.least, self.seed = job, case, least, seed
        self._known: dict[int, _Zone] = {}
        self._failed = np.zeros(DRAWS, dtype=np.intp)  # zones that failed, by draw

    def enough(self, holds: Bools) -> bool:
        """Whether what holds in some draws (n,) holds with the least chance that counts."""
        return float(holds.mean()) >= self.least

    def known(self, lines: Iterable[Line]) -> Bools:
        """Draws (n,) in which zones hold together as far as they are solved, the others among them."""
        zones = [self._known[id(line)] for line in lines if id(line) in self._known]
        every: Bools = np.logical_and.reduce([np.ones(DRAWS, dtype=bool), *(zone.holds for zone in zones)])
        return every

    def at_most(self, lines: Mapping[str, Line], system: System) -> Bools:
        """Draws (n,) in which zones of a system hold at the most: all but those of the hardest in which one fails."""
        return self._holding(lines, system, max(_FIRST, round(2 * (1 - self.least) * DRAWS)))

    def holds(self, lines: Mapping[str, Line], system: System) -> Bools:
        """Draws (n,) in which every head of some zones of a system is inside its band, where they are enough.

        Else some of those in which not, and too many of them.
        """
        return self._holding(lines, system, DRAWS)

    def _holding(self, lines: Mapping[str, Line], system: System, most: int) -> Bools:
        """The same, no more than so many draws solved."""
        zones = [self._zone(line, system) for line in lines.values()]
        found = self.known(lines.values())
        order, first = np.argsort(-self._failed, kind="stable"), 0
        while first < most and self.enough(found):
            rows = order[first : min(max(2 * first, _FIRST), most)]
            for zone in zones:
                self._solve(zone, rows[found[rows] & ~zone.solved[rows]])
                found &= zone.holds
            first += len(rows)
        return found

    @cached_property
    def _drawn(self) -> YardDraws:
        """The yard with the heads and zones of the plan."""
        job, case = self._job, self._case
        fitted = [name for name in regulators_of(job.plan) if name != AT_ENTRY]
        at_entry = [AT_ENTRY] if case.limits.expected.cap is not None else []
        return draw_yard(
            case.yard,
            fit=case.fit,
            heads=job.base.heads,
            zones=[*job.base.lines],
            seed=self.seed,
            regulators=[*at_entry, *fitted],
            count=DRAWS,
        )

    def _zone(self, line: Line, system: System) -> _Zone:
        if id(line) not in self._known:
            solver = solver_of(system, self._case, [line.zone])
            model = drawn_model(line.zone, line.heads, solver=solver, case=self._case)
            self._known[id(line)] = self._unsolved(line, model)
        return self._known[id(line)]

    def _unsolved(self, line: Line, model: ZoneModel) -> _Zone:
        drawn, case = self._drawn, self._case
        if model.id not in drawn.control:
            drawn = further_zone(drawn, model.id, yard=case.yard, seed=self.seed)
        drawn = drawn.among([head.id for head in model.heads], [model.id])
        nozzles = [case.catalogue.nozzles[head.nozzle] for head in model.heads]
        low = np.array([nozzle.lowest_pressure for nozzle in nozzles])
        high = np.array([np.inf if self._regulated else nozzle.highest_pressure for nozzle in nozzles])
        solved = np.zeros(DRAWS, dtype=bool)
        return _Zone(line, model, drawn, (low, high), solved, ~solved)

    def _solve(self, zone: _Zone, rows: NDArray[np.intp]) -> None:
        """Solve a zone in some draws, by their numbers."""
        if not len(rows):
            return
        pressure, (low, high) = run_zone(zone.model, zone.drawn.rows(rows)).pressure, zone.band
        zone.holds[rows] = np.all((pressure >= low) & (pressure <= high), axis=1)
        zone.solved[rows] = True
        self._failed[rows] += ~zone.holds[rows]

    @property
    def _regulated(self) -> bool:
        """Whether regulators hold the heads of the plan under their greatest pressure, as they will in a change."""
        return self._job.plan.regulation is not None and bool(self._job.plan.regulation.fitted)
