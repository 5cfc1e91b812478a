"""The chance that a change holds: every head of every zone inside its chart's pressure band at once, over draws.

Zones run one at a time, so each is solved in every draw by itself; a change holds in the draws in which all its zones
do. The share for some of its zones is then no less than that for all: branches are cut by it. One set of draws serves
every change with the same supply, so that two changes differ by what they do and not by luck.
"""

from collections.abc import Mapping
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.case import Case
from rillwright.jobs.certainty import drawn_model
from rillwright.jobs.replan.job import Job
from rillwright.jobs.replan.system import Line, System, solver_of
from rillwright.jobs.zone_models import regulators_of
from rillwright.solvers.certainty import AT_ENTRY, YardDraws, ZoneModel, draw_yard, further_zone, run_zone

__all__ = ["DRAWS", "Bools", "Chances"]

Bools = NDArray[np.bool_]

DRAWS = 512  # of the yard for each way to have the water
_FIRST = 64  # draws that are solved first, then as many again


class Chances:
    """Draws of one job's yard on one supply, and in which of them zones hold.

    A zone that fails in too many draws to hold with the chance that is asked for is taken to hold in none of the rest.
    """

    def __init__(self, job: Job, case: Case, *, sure: float = 0.0) -> None:
        self._job, self._case, self._sure = job, case, sure
        self._known: dict[int, tuple[Line, Bools]] = {}  # by zone, as the object that it is: each keeps its own alive

    @property
    def all(self) -> Bools:
        """Every draw."""
        return np.ones(DRAWS, dtype=bool)

    def holds(self, lines: Mapping[str, Line], system: System) -> Bools:
        """Draws (n,) in which every head of some zones of a system is inside its band."""
        zones = [self.all, *(self._zone(line, system) for line in lines.values())]
        return np.asarray(np.logical_and.reduce(zones))

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
            seed=case.seed,
            regulators=[*at_entry, *fitted],
            count=DRAWS,
        )

    def _zone(self, line: Line, system: System) -> Bools:
        if id(line) not in self._known:
            solver = solver_of(system, self._case, [line.zone])
            model = drawn_model(line.zone, line.heads, solver=solver, case=self._case)
            self._known[id(line)] = line, self._solved(model)
        return self._known[id(line)][1]

    def _solved(self, model: ZoneModel) -> Bools:
        """Draws in which a zone holds, a part of them at a time."""
        drawn, case = self._drawn, self._case
        if model.id not in drawn.control:
            drawn = further_zone(drawn, model.id, yard=case.yard, seed=case.seed)
        drawn = drawn.among([head.id for head in model.heads], [model.id])
        nozzles = [case.catalogue.nozzles[head.nozzle] for head in model.heads]
        low = np.array([nozzle.lowest_pressure for nozzle in nozzles])
        high = np.array([np.inf if self._regulated else nozzle.highest_pressure for nozzle in nozzles])
        holds, first = np.zeros(drawn.count, dtype=bool), 0
        while first < drawn.count and np.count_nonzero(~holds[:first]) <= (1 - self._sure) * drawn.count:
            last = min(max(2 * first, _FIRST), drawn.count)
            pressure = run_zone(model, drawn.rows(first, last)).pressure
            holds[first:last] = np.all((pressure >= low) & (pressure <= high), axis=1)
            first = last
        return holds

    @property
    def _regulated(self) -> bool:
        """Whether regulators hold the heads of the plan under their greatest pressure, as they will in a change."""
        return self._job.plan.regulation is not None and bool(self._job.plan.regulation.fitted)
