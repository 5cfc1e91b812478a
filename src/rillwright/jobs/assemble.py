"""From a draft to a plan: hydraulics solved, coverage measured at the solved pressures, parts counted, all checked."""

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from functools import partial

from rillwright import __version__
from rillwright.jobs.bill import make_bill
from rillwright.jobs.case import Case
from rillwright.jobs.certainty import assess
from rillwright.jobs.checks import inspect
from rillwright.jobs.checks.inspection import highest_static
from rillwright.jobs.clashes import clash_findings
from rillwright.jobs.layouts import Layouts
from rillwright.jobs.pipework import at_flows
from rillwright.jobs.progress import Progress, silent
from rillwright.jobs.regulate import regulate
from rillwright.jobs.search.told import cut_short
from rillwright.jobs.settle import Settled, solved_heads, zone_state
from rillwright.jobs.verdict import judge
from rillwright.jobs.wire import wire_of
from rillwright.jobs.workers import run_all
from rillwright.jobs.zoned import Draft
from rillwright.model.catalogue import outlet_of
from rillwright.model.findings import Finding, Proof
from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, NozzleUsed, Pipe, Plan, SupplyReport, Zone
from rillwright.model.regulation import Regulation
from rillwright.model.site_rules import doubts
from rillwright.solvers.areas import zone_areas
from rillwright.solvers.coverage import LawnLayout, evaluate_layout
from rillwright.solvers.cycling import zone_cycles
from rillwright.solvers.flushing import plan_flushing
from rillwright.solvers.hydraulics import ZoneHydraulics
from rillwright.solvers.supply import report_supply
from rillwright.solvers.surge import zone_surges

__all__ = ["assemble", "in_order"]

_IDLE_PRESSURE = 300e3  # [Pa] at which the supply is reported when no zone could be made


def assemble(
    layouts: Layouts, draft: Draft | None, *, case: Case, pool: Executor | None, progress: Progress = silent
) -> Plan:
    """Make the plan of a draft; a draft without pipework gives a plan without zones, and the findings say why.

    Parameters: pool, processes that share the lawns, or None.
    """
    tell = partial(progress, "hydraulics and checks")
    tell(0.0)
    yard, ground, catalogue = case.yard, case.ground, case.catalogue
    blocking = [refusal.model_copy(update={"severity": "must"}) for refusal in layouts.refused]
    regulation: Regulation | None = None
    if draft is not None:
        draft, case, regulation = regulate(draft, case)
        blocking += [*clash_findings(draft, layouts.heads, case), *cut_short(draft)]
    work = draft.pipework if draft else None
    heads: tuple[Head, ...] = layouts.heads
    zones: tuple[Zone, ...] = ()
    pipes: tuple[Pipe, ...] = ()
    lawns = tuple(layout.lawn for layout in layouts.chosen if layout.lawn)
    notes = [note for layout in layouts.chosen for note in layout.notes]
    if draft is not None and draft.settled is not None:
        heads = solved_heads(layouts.heads, draft.settled.expected, catalogue)
        zones = _zones(draft, draft.settled, heads, ground)
        warm = yard.water_entry.temperature
        pipes = _solved_pipes(work.pipes, draft.settled.expected, catalogue, warm) if work else ()
        own = [tuple(head for head in heads if head.lawn == lawn.id) for lawn in lawns]
        again = []
        for layout in run_all(pool, partial(_measured, case=case), own):
            again.append(layout)
            tell(0.1 + 0.2 * len(again) / len(own))
        lawns = tuple(layout.lawn or lawn for layout, lawn in zip(again, lawns, strict=True))
        notes = [note for layout in again for note in layout.notes]
    plan = Plan(
        software=__version__,
        seed=case.seed,
        yard=yard,
        verdict="fits",
        headline="",
        backflow=draft.kind if draft else None,
        supply=_supply(zones, case),
        front=layouts.front,
        lawns=lawns,
        heads=heads,
        nozzles=_nozzles(heads, catalogue),
        zones=zones,
        regulation=regulation,
        places=draft.places if draft and zones else (),
        nodes=work.nodes if work and zones else (),
        pipes=pipes,
        trenches=work.trenches if work and zones else (),
        proofs=(*draft.proofs, *_drift(draft)) if draft else (),
        search=draft.search if draft else (),
        least=draft.least if draft else (),
    )
    if draft is not None and work is not None and zones:
        tell(0.3)
        bill = make_bill(zones, heads, draft.places, work, draft.kind, regulation=regulation, case=case)
        places = {"placed": bill.tally.placed(), "cutting": bill.tally.cuttings(case.catalogue.stock)}
        money = {**places, "parts": bill.parts, "existing": bill.existing, "drainage": bill.drainage, "cost": bill.cost}
        tell(0.4)
        plan = _guarded(plan.model_copy(update=money), case)
        plan = plan.model_copy(update={"wire": wire_of(plan, case.catalogue)})
    if case.draws:
        plan = plan.model_copy(update={"certainty": assess(plan, draft, case=case, pool=pool, tell=tell)})
    tell(0.95)
    return judge(plan, in_order([*blocking, *notes, *doubts(yard), *inspect(plan, ground, catalogue)]))


def _supply(zones: Sequence[Zone], case: Case) -> SupplyReport:
    """The supply's chapter; its curves are those that zones were solved with, capped or not."""
    report = report_supply(case.fit, pressure=_reference(zones, case), yard=case.yard, catalogue=case.catalogue)
    says = report.says
    if case.yard.water_entry.booster is not None:
        says = ("All that follows holds behind the booster pump, whose curve is added to what was measured.", *says)
    return report.model_copy(update={"expected": case.limits.expected, "cautious": case.limits.cautious, "says": says})


def _reference(zones: Sequence[Zone], case: Case) -> float:
    """Entry pressure [Pa] to report the supply at: what the zone that draws the most needs.

    It is never more than the pressure at which the cautious supply gives just that zone's safe flow, and just that
    where the curve sets it, so that the report and the zone name the same flow.
    """
    if not zones:
        return _IDLE_PRESSURE
    zone = max(zones, key=lambda z: z.flow)
    at_safe = case.limits.cautious.pressure(zone.safe_flow + case.limits.reserve)
    return at_safe if zone.safe_binds == "curve" else min(zone.needed_pressure, at_safe)


def _drift(draft: Draft) -> tuple[Proof, ...]:
    """Say how far the solved heads stray from the ones that were laid out, where the rounds of planning ended."""
    if draft.settled is None:
        return ()
    method = "zones, pipes and hydraulics repeated until heads work as laid out; value: greatest share of flow astray"
    return (Proof(stage="feedback", status="feasible", value=draft.settled.drift, bound=None, method=method),)


def in_order(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Worst first, each once."""
    order = ("must", "should", "know")
    return tuple(sorted(dict.fromkeys(findings), key=lambda f: order.index(f.severity)))


def _solved_pipes(
    pipes: Sequence[Pipe], solved: Mapping[str, ZoneHydraulics], catalogue: Catalogue, temperature: float
) -> tuple[Pipe, ...]:
    """Pipes at the most that any zone draws through them."""
    flows = {pipe.id: max(z.pipe_flow.get(pipe.id, 0.0) for z in solved.values()) for pipe in pipes}
    return at_flows(pipes, flows, catalogue, temperature=temperature)


def _zones(
    draft: Draft,
    settled: Settled,
    heads: Sequence[Head],
    ground: Ground,
) -> tuple[Zone, ...]:
    zone_of = {head.id: zone.id for zone in draft.zones for head in zone.heads}
    areas = zone_areas(heads, zone_of, ground=ground)
    out: list[Zone] = []
    for station, zone in enumerate(draft.zones, start=1):
        state, poor = settled.expected[zone.id], settled.cautious[zone.id]
        first = zone.heads[0]
        out.append(
            Zone(
                id=zone.id,
                station=station,
                head_class=first.head_class,
                hydrozone=first.hydrozone,
                heads=tuple(head.id for head in zone.heads),
                place=zone.place,
                safe_flow=zone.safe_flow,
                safe_binds=zone.safe_binds,
                area=areas[zone.id],
                **zone_state(state, poor, area=areas[zone.id]),
            )
        )
    return tuple(out)


def _measured(heads: Sequence[Head], *, case: Case) -> LawnLayout:
    """The water of one lawn's heads at the solved pressures."""
    return evaluate_layout(heads, lawn_id=heads[0].lawn, ground=case.ground, yard=case.yard, catalogue=case.catalogue)


def _nozzles(heads: Sequence[Head], catalogue: Catalogue) -> tuple[NozzleUsed, ...]:
    used: list[NozzleUsed] = []
    for name in sorted({head.nozzle for head in heads}):
        nozzle = catalogue.nozzles[name]
        law = outlet_of(nozzle, nozzle.reference_arc)
        used.append(
            NozzleUsed(
                id=name,
                head_class=nozzle.head_class,
                pattern=nozzle.pattern,
                width=nozzle.width,
                coefficient=law.coefficient,
                exponent=law.exponent,
                reference_arc=nozzle.reference_arc,
                flow_follows_arc=nozzle.flow_follows_arc,
                flow_follows_radius=nozzle.flow_follows_radius,
                lowest_pressure=nozzle.lowest_pressure,
                highest_pressure=nozzle.highest_pressure,
                design_pressure=nozzle.design_pressure,
                source=nozzle.source,
                arcs=nozzle.fixed_arcs,
                arc_low=nozzle.arc_low,
                arc_high=nozzle.arc_high,
                shorten=nozzle.shorten,
            )
        )
    return tuple(used)


def _guarded(plan: Plan, case: Case) -> Plan:
    """The plan with what it says of water that stops, and of filling and flushing."""
    assert plan.backflow is not None
    surges = zone_surges(
        plan.zones,
        plan.pipes,
        static=highest_static(plan),
        backflow=plan.backflow,
        ground=case.ground,
        yard=plan.yard,
        catalogue=case.catalogue,
    )
    cycling = zone_cycles(plan.zones, supply=plan.supply.expected, yard=plan.yard)
    flushing = plan_flushing(plan, ground=case.ground, catalogue=case.catalogue)
    return plan.model_copy(update={"surges": surges, "flushing": flushing, "cycling": cycling})
