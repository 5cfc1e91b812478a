"""The main closed to a ring where the yard asks for it, or where the whole plan is cheaper so.

The ring is planned on from the finished branched plan: the same heads under the same backflow kind, its zones and valve
places as they stand, or anew where they do not settle. What the ring gains is told by solving it: the least pressure on
the cautious supply with each layout, and with each stretch of the ring shut.
"""

from concurrent.futures import Executor
from dataclasses import replace

from rillwright.jobs.assemble import assemble, in_order
from rillwright.jobs.build import build_system
from rillwright.jobs.case import Case
from rillwright.jobs.checks.inspection import Inspection
from rillwright.jobs.checks.pipes import main_as_asked
from rillwright.jobs.layouts import Layouts
from rillwright.jobs.progress import Progress
from rillwright.jobs.search import fit_devices
from rillwright.jobs.settle import ZoneSolver
from rillwright.jobs.verdict import judge
from rillwright.jobs.zoned import Draft, drafted
from rillwright.model.main_ring import MainChoice, MainTrial, ShutStretch
from rillwright.model.plan import Plan
from rillwright.solvers.hydraulics import ZoneHydraulics
from rillwright.solvers.mains import ring_of

__all__ = ["close_main"]

_ONE_PLACE = "all valves stand at one place, so there is nothing to join in a ring"
_NO_WAY = "no second way can be dug apart from the first"


def close_main(
    branched: Plan, layouts: Layouts, draft: Draft | None, *, case: Case, progress: Progress, pool: Executor | None
) -> Plan:
    """Plan the main as the yard asks for it.

    Parameters: the branched plan and what it was made of; pool, processes that share the work, or None.
    """
    asked = case.yard.pipes.main_layout
    if asked == "branched" or draft is None or not branched.zones:
        return branched
    if len(draft.places) < 2:
        return _told(branched, MainChoice(asked=asked, laid="branched", why=_ONE_PLACE), case)
    progress("the main as a ring", 0.0)
    ring_case = replace(case, looped=True)
    bare = drafted(draft.room, draft.zoning, ring_case)
    built = build_system(layouts.heads, bare, case=ring_case, progress=progress, pool=pool)
    closed = fit_devices(built, ring_case, pool)
    looped = assemble(layouts, closed, case=ring_case, pool=pool, progress=progress)
    if not looped.zones or not ring_of([pipe for pipe in looped.pipes if pipe.role == "main"]):
        return _told(branched, MainChoice(asked=asked, laid="branched", why=_NO_WAY), case)
    trials = _trial(branched, draft, "branched"), _trial(looped, closed, "looped")
    why = _why(asked, *trials)
    if why is not None:
        return _told(branched, MainChoice(asked=asked, laid="branched", why=why, trials=trials), case)
    reason = "a second way to each place was found" if asked == "looped" else "the whole plan is cheaper so"
    choice = MainChoice(asked=asked, laid="looped", why=reason, trials=trials, shut=_shut(closed, ring_case))
    return _told(looped, choice, ring_case)


def _why(asked: str, branched: MainTrial, looped: MainTrial) -> str | None:
    """Why the main stays branched; None when the ring is laid."""
    if branched.fits and not looped.fits:
        return "with a ring the yard does not fit"
    if asked == "looped" or (looped.fits and not branched.fits):
        return None
    assert branched.cost is not None
    assert looped.cost is not None
    return None if looped.cost < branched.cost else "the whole plan is cheaper so"


def _told(plan: Plan, choice: MainChoice, case: Case) -> Plan:
    """The plan with the choice, and with the findings about it."""
    plan = plan.model_copy(update={"main": choice})
    found = main_as_asked(Inspection(plan, case.ground, case.catalogue))
    return judge(plan, in_order([*plan.findings, *found]))


def _trial(plan: Plan, draft: Draft, layout: str) -> MainTrial:
    states = draft.settled.cautious.values() if draft.settled else ()
    poorest = min(states, key=lambda state: state.pressure_low, default=None)
    return MainTrial(
        layout="looped" if layout == "looped" else "branched",
        fits=plan.verdict != "does not fit",
        cost=plan.cost.total if plan.cost else None,
        head=poorest.worst_head if poorest else None,
        least=poorest.pressure_low if poorest else None,
    )


def _shut(draft: Draft, case: Case) -> tuple[ShutStretch, ...]:
    """Solve every zone with each stretch of the ring shut in turn."""
    assert draft.pipework is not None
    assert draft.settled is not None
    members = {zone.id: zone.heads for zone in draft.zones}
    found = []
    for run in ring_of([pipe for pipe in draft.pipework.pipes if pipe.role == "main"]):
        left = tuple(pipe for pipe in draft.pipework.pipes if pipe.id != run.id)
        solver = ZoneSolver(members, draft.places, replace(draft.pipework, pipes=left), case)
        states: list[ZoneHydraulics] = [
            solver.solve(zone, case.limits.cautious, case.limits.reserve) for zone in members
        ]
        worst = min(states, key=lambda state: state.pressure_low)
        found.append(
            ShutStretch(
                pipe=run.id,
                zone=worst.zone,
                head=worst.worst_head,
                before=draft.settled.cautious[worst.zone].pressure[worst.worst_head],
                least=worst.pressure_low,
            )
        )
    return tuple(found)
