"""Whether one more reading of the supply could change which change is best.

In each draw of the supply every change is sound or not: each head at least at the least pressure of its chart, flow
controls open. For readings simulated from draws, the draws weigh anew, and the choice is the cheapest change that is
sound as surely as the rules ask for, or as the first change now is where that is less; else the surest. What a reading
is worth is the share of readings after which the choice is another one. Finishing as drawn is among the choices.
Preposterior analysis, see solvers/preposterior.py.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.case import Case
from rillwright.jobs.replan.job import Job
from rillwright.jobs.replan.search import Found
from rillwright.jobs.replan.system import System, solver_of
from rillwright.model.change import Reading
from rillwright.physics.units import show
from rillwright.solvers.network import Draws, prepare, solve_batch
from rillwright.solvers.preposterior import weights_under
from rillwright.solvers.supply import supply_candidates
from rillwright.solvers.supply.prior import Supplies
from rillwright.solvers.zone_network import nozzle_node

__all__ = ["reading_that_decides"]

Bools = NDArray[np.bool_]

DRAWS = 256  # of the supply, spread evenly over those of the fit
LEAST = 0.05  # share under which no reading is told of


def reading_that_decides(job: Job, found: Sequence[Found]) -> Reading | None:
    """The reading that most often leads to another choice; None when none does in one case of twenty."""
    if not found:
        return None
    fit, seed = job.case.fit, job.case.seed
    order = np.argsort(fit.flows(0.5 * float(np.median(fit.static))), kind="stable")
    rows = order[((np.arange(DRAWS) + 0.5) / DRAWS * len(order)).astype(np.intp)]
    ranked = sorted(found, key=lambda one: one.weight.total)
    holds = [_sound(job.base, job.case, rows), *(_sound(one.system, one.shared.case, rows) for one in ranked)]
    first = next(each for each, one in zip(holds[1:], ranked, strict=True) if one is found[0])
    certainty = min(job.case.yard.rules.supply_certainty, float(first.mean()))
    now = _choice(np.array([each.mean() for each in holds]), certainty)
    flow = max(line.flow for line in job.base.lines.values())
    words = f"the flow of the largest zone running, {show(flow, 'flow', job.case.yard.units)}"
    supplies = fit.supplies.take(rows)
    best: Reading | None = None
    for candidate in supply_candidates(fit, job.case.yard, supplies=supplies, flows=[(words, flow)], seed=seed):
        weights = weights_under(candidate, supplies.pressure(flow), seed)
        after = np.array([weights @ each for each in holds])
        share = float(np.mean([_choice(chances, certainty) != now for chances in after.T]))
        if share >= LEAST and (best is None or share > best.changes):
            best = Reading(what=candidate.what, changes=share)
    return best


def _choice(chances: NDArray[np.float64], certainty: float) -> int:
    """The first that is sure enough, else the surest."""
    sure = np.flatnonzero(chances >= certainty)
    return int(sure[0]) if len(sure) else int(np.argmax(chances))


def _sound(system: System, case: Case, rows: NDArray[np.intp]) -> Bools:
    """Whether every zone of a system is sound, in some draws of its supply (n,)."""
    supplies: Supplies = case.fit.supplies.take(rows)
    solver = solver_of(system, case, list(system.lines))
    holds = np.ones(len(rows), dtype=bool)
    for name, line in system.lines.items():
        prepared = prepare(solver.network(name, case.limits.expected))
        draws = Draws(
            count=len(rows),
            static=supplies.static,
            supply_factor=supplies.factor,
            supply_exponent=supplies.exponent,
        )
        state = solve_batch(prepared, draws)
        columns = [prepared.nodes.index(nozzle_node(head.id)) for head in line.heads]
        least = np.array([case.catalogue.nozzles[head.nozzle].lowest_pressure for head in line.heads])
        holds &= (state.pressure[:, columns] >= least).all(axis=1)
    return holds
