"""A change planned through: hydraulics, water, parts, checks and certainty of the whole system after it."""

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor

from rillwright.jobs.assemble import assemble
from rillwright.jobs.carried import earlier_of
from rillwright.jobs.case import Case
from rillwright.jobs.layouts import Layouts
from rillwright.jobs.replan.job import Job
from rillwright.jobs.replan.reading import reading_that_decides
from rillwright.jobs.replan.search import Found
from rillwright.jobs.replan.system import System, solver_of, work_of
from rillwright.jobs.replan.weigh import Weight
from rillwright.jobs.settle import Settled
from rillwright.jobs.zoned import Draft, ZoneDraft, ZoneRoom, safe_on_pipes
from rillwright.model.change import Change, ChangedPart, ChangedTask, ChangedTrench, Undoing
from rillwright.model.findings import Proof
from rillwright.model.plan import Plan, Trench
from rillwright.solvers.coverage import LawnLayout
from rillwright.solvers.zoning import ZoneGroup, ZoneProblem, Zoning

__all__ = ["finished"]


def finished(job: Job, found: Sequence[Found], *, pool: Executor | None) -> tuple[Plan, tuple[Plan, ...]]:
    """The plan finished as drawn on the supply as it is now, and each change, with certainty."""
    settled = solver_of(job.base, job.case, list(job.base.lines)).settle()
    as_drawn = _planned(job, job.base, settled, job.case, (), pool)
    changes: list[Plan] = []
    for one in found:
        method = "branch and bound over composed moves; docs/theory/replan.md"
        proof = Proof(stage="change: cost", status=one.status, value=one.weight.total, bound=one.bound, method=method)
        plan = _planned(job, one.system, one.verdict.settled, one.shared.case, (proof,), pool)
        reading = reading_that_decides(job, found) if not changes else None
        change = _change(job, one, plan).model_copy(update={"reading": reading})
        changes.append(plan.model_copy(update={"change": change}))
    return as_drawn, tuple(changes)


def _planned(
    job: Job, system: System, settled: Settled, case: Case, proofs: tuple[Proof, ...], pool: Executor | None
) -> Plan:
    """The whole plan of a system."""
    order = {head.id: number for number, head in enumerate(job.plan.heads)}
    heads = tuple(sorted(system.heads, key=lambda head: order[head.id]))
    chosen = tuple(LawnLayout(tuple(head for head in heads if head.lawn == lawn.id), lawn) for lawn in job.plan.lawns)
    zoning = Zoning(
        groups=tuple(ZoneGroup(tuple(h.id for h in line.heads), line.place) for line in system.lines.values()),
        places_used=tuple(system.places),
        cost=0.0,
        proofs=(),
        status="feasible",
    )
    problem = ZoneProblem((), (), {}, case.yard.controller.stations, 0.0, 0.0, 0.0)
    draft = Draft(
        system.kind,
        zoning,
        ZoneRoom(system.kind, heads, {}, problem),
        zones=tuple(_zone(zone, system, settled, case) for zone in system.lines),
        places=tuple(system.places.values()),
        pipework=work_of(system),
        settled=settled,
        proofs=proofs,
    )
    return assemble(Layouts(chosen, heads, ()), draft, case=case, pool=pool)


def _zone(zone: str, system: System, settled: Settled, case: Case) -> ZoneDraft:
    line = system.lines[zone]
    drawn = ZoneDraft(zone, line.heads, line.place, 0.0, "")
    return safe_on_pipes(drawn, settled, system.kind, case, size=system.places[line.place].backflow_size)


def _change(job: Job, found: Found, plan: Plan) -> Change:
    weight = found.weight
    return Change(
        kinds=tuple(sorted(found.kinds)),
        words=found.words or ("nothing: the plan is sound as drawn",),
        note=found.shared.note,
        bought=_parts(job, weight.bought, plan),
        extras=tuple(ChangedPart(part=e.what, unit="piece", quantity=1.0, cost=e.price) for e in weight.extras),
        fresh=tuple(_trench(found.system.trenches[name]) for name in weight.fresh),
        saved=tuple(_trench(job.base.trenches[name]) for name in weight.saved),
        undoing=Undoing(
            thrown=_parts(job, weight.thrown, plan),
            dug_up=tuple(_trench(job.base.trenches[name]) for name in weight.dug_up),
        ),
        tasks=_tasks(job, weight),
        hours=weight.hours.mean,
        hours_spread=weight.hours.spread,
        hour_price=job.hour,
        total=weight.total,
        needed=found.verdict.needed,
        holds=plan.certainty.sound if plan.certainty else None,
        status=found.status,
        bound=found.bound,
        earlier=earlier_of(job.plan, job.state.entries, again=weight.dug_up),
    )


def _parts(job: Job, parts: Mapping[str, tuple[float, float]], plan: Plan) -> tuple[ChangedPart, ...]:
    units = {line.part: line.unit for line in (*plan.parts, *job.parts.values())}
    return tuple(
        ChangedPart(part=part, unit=units[part], quantity=quantity, cost=cost)
        for part, (quantity, cost) in parts.items()
    )


def _trench(trench: Trench) -> ChangedTrench:
    return ChangedTrench(trench=trench.id, surface=trench.surface, length=trench.length, cost=trench.cost)


def _tasks(job: Job, weight: Weight) -> tuple[ChangedTask, ...]:
    return tuple(
        ChangedTask(
            task=name,
            amount=amount,
            low=task.each.low,
            likely=task.each.likely,
            high=task.each.high,
            source=task.source,
        )
        for name, amount in weight.tasks.items()
        for task in (job.labour[name],)
    )
