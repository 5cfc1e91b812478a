"""The main job: from a yard to a plan, or to a reasoned 'does not fit'.

Order of work: fit the supply; lay out heads; compare the backflow kinds that the yard allows by their zones and valve
places; build the best one with pipes and hydraulics; check everything. When the first pressure level does not fit,
a lower one is tried before the plan says so.
"""

from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from typing import Any

from rillwright.jobs.assemble import assemble
from rillwright.jobs.build import PIPE_ALLOWANCE, Draft, Limits, build_system, head_need, zone_system
from rillwright.jobs.layouts import Layouts, choose_layouts, design_pressure
from rillwright.jobs.progress import Progress, silent
from rillwright.jobs.ways_out import find_ways_out
from rillwright.jobs.workers import run_all
from rillwright.model.ground import Ground, resolve_ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, Plan
from rillwright.model.site import BackflowKind, HeadClass, Yard
from rillwright.solvers.supply import SupplyFit, fit_supply

__all__ = ["LEVELS", "Attempt", "make_plan", "plan_once"]

_KINDS_BUILT = 2  # backflow kinds built with pipes before a level is given up
LEVELS = (1.0, 0.8)  # shares of a class's design pressure to lay out at, best first


@dataclass(frozen=True, slots=True)
class Attempt:
    """One pass at one pressure level."""

    layouts: Layouts
    draft: Draft | None

    @property
    def fits(self) -> bool:
        """Whether every lawn has heads and the system can be built."""
        return not self.layouts.refused and self.draft is not None and self.draft.fits


def make_plan(
    yard: Yard,
    catalogue: Catalogue,
    *,
    seed: int = 0,
    progress: Progress = silent,
    pool: Executor | None = None,
) -> Plan:
    """Plan a yard; when it does not fit, add the ways out, each solved and priced.

    Parameters: pool, processes to share the work, or None; the plan is the same either way.
    """
    ground = resolve_ground(yard)
    progress("supply", 0.0)
    fit = fit_supply(yard, catalogue, seed=seed)
    plan = plan_once(yard, catalogue, ground=ground, fit=fit, seed=seed, progress=progress, pool=pool)
    if plan.verdict != "does not fit":
        return plan
    replan = partial(plan_once, ground=ground, seed=seed, progress=silent, pool=pool)
    ways = find_ways_out(plan, catalogue, fit=fit, replan=replan, progress=progress)
    return plan.model_copy(update={"ways_out": ways})


def plan_once(
    yard: Yard,
    catalogue: Catalogue,
    *,
    ground: Ground,
    fit: SupplyFit,
    seed: int,
    progress: Progress,
    pool: Executor | None,
) -> Plan:
    """Plan with a given supply and no ways out."""
    limits = Limits.of(fit, yard=yard, catalogue=catalogue)
    best: Attempt | None = None
    for level in LEVELS:
        attempt = _attempt(
            yard, catalogue, ground=ground, limits=limits, level=level, seed=seed, progress=progress, pool=pool
        )
        if best is None or _rank(attempt) < _rank(best):
            best = attempt
        if best.fits:
            break
    assert best is not None
    progress("hydraulics and checks", 0.9)
    return assemble(
        best.layouts, best.draft, yard=yard, ground=ground, catalogue=catalogue, fit=fit, limits=limits, seed=seed
    )


def _rank(attempt: Attempt) -> tuple[int, int, int, int]:
    """Order attempts: fewer lawns without heads, then nearer to a system, then fewer stations missing."""
    draft = attempt.draft
    if draft is None:
        return (len(attempt.layouts.refused), 3, 0, 0)
    hard = sum(clash.kind != "stations" for clash in draft.zoning.clashes)
    short = sum(int(clash.short) for clash in draft.zoning.clashes if clash.kind == "stations")
    work = draft.pipework
    trouble = 0 if work is None else len(work.clashes) + len(work.unreachable)
    return (len(attempt.layouts.refused), 0 if draft.fits else 1, hard, short + trouble)


def _attempt(
    yard: Yard,
    catalogue: Catalogue,
    *,
    ground: Ground,
    limits: Limits,
    level: float,
    seed: int,
    progress: Progress,
    pool: Executor | None,
) -> Attempt:
    kinds = _kinds(yard)
    capacity = _class_capacity(kinds, yard, catalogue, ground=ground, limits=limits, level=level)
    layouts = choose_layouts(yard, ground, catalogue, capacity=capacity, level=level, seed=seed, progress=progress)
    if not layouts.heads:
        return Attempt(layouts, None)

    zone = partial(
        _zone_kind, heads=layouts.heads, yard=yard, ground=ground, catalogue=catalogue, limits=limits, seed=seed
    )
    progress("zones and valve places under each backflow kind", 0.0)
    drafts = sorted(run_all(pool, zone, kinds), key=lambda draft: _quick_rank(draft, yard, catalogue))
    built: list[Draft] = []
    for draft in drafts[:_KINDS_BUILT]:
        built.append(
            build_system(
                layouts.heads,
                draft.kind,
                yard=yard,
                ground=ground,
                catalogue=catalogue,
                limits=limits,
                seed=seed,
                progress=progress,
                zoned=draft,
            )
        )
        if built[-1].fits:
            break
    return Attempt(layouts, built[-1] if built[-1].fits else built[0])


def _zone_kind(kind: BackflowKind, **rest: Any) -> Draft:
    return zone_system(kind=kind, **rest)


def _kinds(yard: Yard) -> tuple[BackflowKind, ...]:
    """Backflow kinds to try: the one already bought alone when it is allowed, else all allowed."""
    owned = yard.backflow.owned
    return (owned,) if owned in yard.backflow.allowed and owned is not None else tuple(yard.backflow.allowed)


def _class_capacity(
    kinds: tuple[BackflowKind, ...],
    yard: Yard,
    catalogue: Catalogue,
    *,
    ground: Ground,
    limits: Limits,
    level: float,
) -> Mapping[HeadClass, float]:
    """Rough zone flow [m³/s] that each class gets, at the middle of the lawns, under the kindest backflow kind."""
    spots = [shape.representative_point() for shape in ground.lawns.values() if not shape.is_empty]
    heights = sorted(ground.terrain.at(p.x, p.y) for p in spots)
    middle = heights[len(heights) // 2] if heights else yard.water_entry.height
    out: dict[HeadClass, float] = {}
    for head_class in {c for lawn in yard.lawns for c in (lawn.head_classes or yard.heads.allowed)}:
        nozzle = next((n for n in catalogue.nozzles.values() if n.head_class == head_class), None)
        if nozzle is None:
            continue
        pressure = design_pressure(head_class, catalogue, level=level)
        head = Head(
            id="any",
            lawn="any",
            at=yard.water_entry.at,
            ground=middle,
            head_class=head_class,
            nozzle=nozzle.id,
            arc_start=0.0,
            arc=360.0,
            radius_share=1.0,
            radius=nozzle.radius[0],
            flow=0.0,
            pressure=pressure,
            hydrozone="any",
        )
        needs = [head_need(head, kind=k, yard=yard, catalogue=catalogue, pipes=PIPE_ALLOWANCE) for k in kinds]
        out[head_class] = max(limits.capacity(need)[0] for need in needs)
    return out


def _quick_rank(draft: Draft, yard: Yard, catalogue: Catalogue) -> tuple[int, int, float]:
    """Order drafts of several kinds: fewest hard clashes, fewest stations missing, least estimated cost."""
    hard = sum(clash.kind != "stations" for clash in draft.zoning.clashes)
    short = sum(int(clash.short) for clash in draft.zoning.clashes if clash.kind == "stations")
    device = catalogue.backflow[draft.kind]
    cost = draft.zoning.cost
    if device.scope == "zone":
        combined = "valve with vacuum breaker" in yard.valves.allowed
        extra = catalogue.prices["valve with vacuum breaker 1 in"].price - catalogue.prices["in-line valve 1 in"].price
        cost += len(draft.zoning.groups) * (extra if combined else catalogue.prices[draft.kind].price)
    elif device.above_outlets is None and yard.backflow.owned != draft.kind:
        cost += catalogue.prices[draft.kind].price
    return hard, short, cost
