"""The main job: from a yard to a plan, or to a reasoned 'does not fit'.

Order of work: fit the supply; lay out heads; compare the backflow kinds that the yard allows by their zones and valve
places; build the best one with pipes and hydraulics; look for a system that costs less; check everything. When the
first pressure level does not fit, a lower one is tried before the plan says so.
"""

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial

from rillwright.jobs.assemble import assemble
from rillwright.jobs.build import build_system
from rillwright.jobs.case import QUICK_EFFORT, Case, make_case
from rillwright.jobs.go_on import anew, plan_on
from rillwright.jobs.layouts import Layouts, choose_layouts, design_pressure
from rillwright.jobs.main_layout import close_main
from rillwright.jobs.progress import Progress, silent
from rillwright.jobs.search import fit_devices, improve_system, zones_proven
from rillwright.jobs.stop import Stop
from rillwright.jobs.ways_out import find_ways_out
from rillwright.jobs.workers import begin, run_all
from rillwright.jobs.zoned import PIPE_ALLOWANCE, Draft, bounded, zone_system
from rillwright.model.existing_rules import check_nozzles
from rillwright.model.own_prices import with_own_prices
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, Plan, Start
from rillwright.model.site import BackflowKind, HeadClass, Yard
from rillwright.solvers.supply import SupplyFit, fit_supply
from rillwright.solvers.zoning import Zoning

__all__ = ["LEVELS", "make_plan", "plan_case"]

LEVELS = (1.0, 0.8)  # shares of a class's design pressure to lay out at, best first


@dataclass(frozen=True, slots=True)
class _Attempt:
    """One pass at one pressure level."""

    layouts: Layouts
    draft: Draft | None

    @property
    def fits(self) -> bool:
        """Whether every lawn has heads and the system can be built."""
        return not self.layouts.refused and self.draft is not None and self.draft.fits

    @property
    def rank(self) -> tuple[int, int, int, int]:
        """Order of attempts: fewer lawns without heads, then nearer to a system, then fewer stations missing."""
        if self.draft is None:
            return (len(self.layouts.refused), 2, 0, 0)
        zoning, work = self.draft.zoning, self.draft.pipework
        trouble = len(self.draft.too_high) + (0 if work is None else len(work.clashes) + len(work.unreachable))
        missing = zoning.stations_missing
        return (len(self.layouts.refused), 0 if self.draft.fits else 1, zoning.hard, missing + trouble)


def make_plan(
    yard: Yard,
    catalogue: Catalogue,
    *,
    seed: int = 0,
    progress: Progress = silent,
    pool: Executor | None = None,
    stop: Stop | None = None,
    start: Start | None = None,
) -> Plan:
    """Plan a yard; when it does not fit, add the ways out, each solved and priced.

    Parameters: pool, processes to share the work, or None; the plan is the same either way; stop, how the
    search for a cheaper system may be ended early; start, what to plan on from, kept where it can be.
    """
    catalogue = with_own_prices(catalogue, yard)
    check_nozzles(yard, catalogue)
    progress("supply", 0.0)
    fit = fit_supply(yard, catalogue, seed=seed)
    case = make_case(yard, catalogue, fit=fit, seed=seed)
    if start is not None:
        kept = plan_on(case, start, progress=progress, pool=pool)
        if kept is not None and kept.verdict != "does not fit":
            return kept
    plan = plan_case(case, progress=progress, pool=pool, stop=stop)
    plan = plan if start is None else anew(plan)
    if plan.verdict != "does not fit":
        return plan

    def replan(changed: Yard, supply: SupplyFit) -> Plan:
        case = make_case(changed, catalogue, fit=supply, seed=seed, effort=QUICK_EFFORT, draws=0)
        return plan_case(case, progress=silent, pool=pool)

    ways = find_ways_out(plan, catalogue, fit=fit, replan=replan, progress=progress)
    return plan.model_copy(update={"ways_out": ways})


def plan_case(case: Case, *, progress: Progress, pool: Executor | None, stop: Stop | None = None) -> Plan:
    """Plan one case, without ways out. A supply too weak for every class is laid out quickly, to be shown only."""
    kinds = _kinds(case.yard)
    able = {level: _class_capacity(case, kinds, level=level) for level in LEVELS}
    levels = [level for level in LEVELS if any(able[level].values())]
    if not levels:
        levels, case = [LEVELS[-1]], replace(case, effort=QUICK_EFFORT)
    best: _Attempt | None = None
    for level in levels:
        attempt = _attempt(case, kinds, able[level], level=level, progress=progress, pool=pool, stop=stop or Stop())
        if best is None or attempt.rank < best.rank:
            best = attempt
        if best.fits:
            break
    assert best is not None
    branched = assemble(best.layouts, best.draft, case=case, pool=pool, progress=progress)
    return close_main(branched, best.layouts, best.draft, case=case, progress=progress, pool=pool)


def _attempt(
    case: Case,
    kinds: tuple[BackflowKind, ...],
    capacity: Mapping[HeadClass, float],
    *,
    level: float,
    progress: Progress,
    pool: Executor | None,
    stop: Stop,
) -> _Attempt:
    layouts = choose_layouts(case, capacity=capacity, level=level, progress=progress, pool=pool)
    if not layouts.heads:
        return _Attempt(layouts, None)
    progress("zones and valve places under each backflow kind", 0.0)
    drafts = _zoned(layouts.heads, kinds, case=case, progress=progress, pool=pool)
    searched = case.effort > QUICK_EFFORT
    zoned = drafts[0]
    proven = _bounding(zoned, case, pool if searched else None)  # beside the first pipes, which take one core
    built: list[Draft] = []
    for draft in drafts:
        built.append(build_system(layouts.heads, draft, case=case, progress=progress, pool=pool))
        if built[-1].fits:
            break
    if not built[-1].fits:
        return _Attempt(layouts, built[0])
    first = built[-1]
    if searched:
        stop.worth_keeping = True
        others = [draft for draft in drafts if draft.kind != first.kind and not draft.zoning.clashes]
        if first.zoning is not zoned.zoning:
            proven = _bounding(first, case, pool)
        found = improve_system(first, others, case=case, stop=stop, progress=progress, pool=pool)
        first = zones_proven(found, first, first.zoning if stop.asked else proven())
    else:
        first = fit_devices(first, case)
    return _Attempt(layouts, first)


def _zoned(
    heads: tuple[Head, ...],
    kinds: tuple[BackflowKind, ...],
    *,
    case: Case,
    progress: Progress,
    pool: Executor | None,
) -> list[Draft]:
    """Zones and places under each backflow kind, the best kind first; that no fewer zones would do is proven for it."""
    zone = partial(zone_system, heads, case=case)
    if len(kinds) == 1:
        return [zone(kinds[0], progress=progress, pool=pool)]
    drafts = sorted(run_all(pool, partial(zone, prove=False), kinds), key=partial(_rank, case=case))
    count = next((proof for proof in drafts[0].zoning.proofs if proof.stage == "zones: fewest"), None)
    if count is not None and count.status != "optimal":
        drafts[0] = zone(drafts[0].kind, progress=progress, pool=pool)
    return drafts


def _bounding(draft: Draft, case: Case, pool: Executor | None) -> Callable[[], Zoning]:
    """Begin on a bound under the cost of a draft's zones."""
    return begin(pool, partial(bounded, draft.room, draft.zoning, case=case))


def _kinds(yard: Yard) -> tuple[BackflowKind, ...]:
    """Backflow kinds to try: the one already bought alone when it is allowed, else all allowed."""
    owned = yard.backflow.owned
    return (owned,) if owned is not None and owned in yard.backflow.allowed else tuple(yard.backflow.allowed)


def _class_capacity(case: Case, kinds: tuple[BackflowKind, ...], *, level: float) -> dict[HeadClass, float]:
    """Rough zone flow [m³/s] that each class gets, at the middle of the lawns, under the kindest backflow kind."""
    terrain = case.ground.terrain
    spots = [shape.representative_point() for shape in case.ground.lawns.values() if not shape.is_empty]
    heights = sorted(terrain.at(p.x, p.y) for p in spots)
    middle = heights[len(heights) // 2] if heights else case.yard.water_entry.height
    out: dict[HeadClass, float] = {}
    level_there = middle + case.yard.rules.popup_height
    for head_class in {c for lawn in case.yard.lawns for c in (lawn.head_classes or case.yard.heads.allowed)}:
        nozzle = next((n for n in case.catalogue.nozzles.values() if n.head_class == head_class), None)
        if nozzle is None:
            continue
        pressure = case.least_pressure(nozzle, design_pressure(head_class, case.catalogue, level=level))
        needs = [case.need_at(pressure, level_there, kind, pipes=PIPE_ALLOWANCE) for kind in kinds]
        out[head_class] = max(case.limits.capacity(need)[0] for need in needs)
    return out


def _rank(draft: Draft, *, case: Case) -> tuple[int, int, float]:
    """Order drafts of several kinds: fewest hard clashes, fewest stations missing, least estimated cost."""
    prices, yard = case.catalogue.prices, case.yard
    device = case.catalogue.backflow[draft.kind]
    cost = draft.zoning.cost
    if device.scope == "zone":
        combined = "valve with vacuum breaker" in yard.valves.allowed
        extra = prices["valve with vacuum breaker 1 in"].price - prices["in-line valve 1 in"].price
        cost += len(draft.zoning.groups) * (extra if combined else prices[draft.kind].price)
    elif device.above_outlets is None and yard.backflow.owned != draft.kind:
        cost += prices[device.for_line(yard.backflow_line).part].price
    return draft.zoning.hard, draft.zoning.stations_missing, cost
