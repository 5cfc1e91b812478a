"""Independent checks of a finished plan: one function for each rule, each returns findings and mends nothing.

The checks look at the plan as a builder's inspector would: they use its numbers and geometry, not the solvers that
made them.
"""

import math
from collections import Counter
from collections.abc import Iterator

from shapely.geometry import Point

from rillwright.jobs.certainty_checks import supply_basis, water_window, zones_sure
from rillwright.jobs.drain_checks import check_valves_hold, low_heads_drain
from rillwright.jobs.flush_checks import air_gets_out, flush_water_kept, meter_spared, runs_washed
from rillwright.jobs.inspection import SLACK, Check, Inspection
from rillwright.jobs.part_built import existing_kept
from rillwright.jobs.part_checks import can_be_assembled, manifolds_sound
from rillwright.jobs.pin_checks import pins_kept
from rillwright.jobs.pipe_checks import (
    laterals_below_devices,
    main_as_asked,
    pipe_ratings,
    pipes_clear,
    pipes_continuous,
    ring_closed,
    surges,
    velocities,
)
from rillwright.jobs.spill_checks import heads_keep_home, paving_kept_dry, wind_is_bearable
from rillwright.jobs.water_checks import house_use, misting, static_pressure, suction
from rillwright.jobs.well_checks import well_rests
from rillwright.jobs.wire_checks import WIRE_CHECKS
from rillwright.model.catalogue import MATCHED, precipitation_of, slope_class
from rillwright.model.findings import Finding
from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, Lawn, Plan, Zone
from rillwright.model.site import BackflowKind
from rillwright.solvers.places import check_places
from rillwright.solvers.takeoff import unpriced

__all__ = ["CHECKS", "Inspection", "inspect"]

_NEVER: dict[BackflowKind, str] = {
    "atmospheric vacuum breaker": "; this kind may stand under pressure for no more than 12 hours in 24 and takes no "
    "shut-off after it (ASSE 1001)",
    "pressure vacuum breaker": "; the main before it is drinking-water pipe in material and law",
    "reduced pressure zone": "; this kind spills water when it works: give it a drain, never set it in a pit or over a "
    "finished floor",
    "double check": "; this kind is not for places where chemicals or fertiliser are injected",
}
_BUILDING_SHARE = 0.002  # of a lawn's water: under this it is the grid's own blur at a wall


def inspect(plan: Plan, ground: Ground, catalogue: Catalogue) -> tuple[Finding, ...]:
    """Run every check."""
    case = Inspection(plan, ground, catalogue)
    return tuple(finding for check in CHECKS for finding in check(case))


def heads_fed_once(case: Inspection) -> Iterator[Finding]:
    """Every head belongs to exactly one zone."""
    if not case.plan.zones:
        return
    count = Counter(head for zone in case.plan.zones for head in zone.heads)
    for head in case.plan.heads:
        if count[head.id] != 1:
            yield Finding(
                rule="fed-once",
                severity="must",
                where=head.id,
                what=f"{head.id} belongs to {count[head.id]} zones",
                do="Plan again; report this if it stays.",
            )


def heads_on_lawn(case: Inspection) -> Iterator[Finding]:
    """Every head stands on its own lawn."""
    for head in case.plan.heads:
        lawn = case.ground.lawns[head.lawn]
        if lawn.distance(Point(head.at)) > 0.01:
            yield Finding(
                rule="head-on-lawn",
                severity="must",
                where=head.id,
                what=f"{head.id} stands {case.show(lawn.distance(Point(head.at)), 'length')} off {head.lawn}",
                do="Move it onto the lawn.",
            )


def zones_within_supply(case: Inspection) -> Iterator[Finding]:
    """No zone draws more than its safe flow."""
    for zone in case.plan.zones:
        if zone.flow > zone.safe_flow * SLACK:
            yield Finding(
                rule="zone-over-supply",
                severity="must",
                where=zone.id,
                what=f"{zone.id} draws {case.show(zone.flow, 'flow')}; its safe flow is "
                f"{case.show(zone.safe_flow, 'flow')} ({zone.safe_binds} binds)",
                do="Split the zone or fit lower-flow nozzles.",
                source="docs/theory/supply.md",
            )


def stations_enough(case: Inspection) -> Iterator[Finding]:
    """The controller has a station for each zone."""
    stations, zones = case.plan.yard.controller.stations, len(case.plan.zones)
    if zones > stations:
        yield Finding(
            rule="stations",
            severity="must",
            where="controller",
            what=f"{zones} zones are needed and the controller has {stations} stations",
            do=f"Fit a controller of {zones} stations, or take a way out below.",
        )


def zones_alike(case: Inspection) -> Iterator[Finding]:
    """A zone holds one head class of one hydrozone, whose heads put water on at one rate."""
    heads = {head.id: head for head in case.plan.heads}
    for zone in case.plan.zones:
        own = [heads[h] for h in zone.heads]
        kinds = {f"{h.head_class} in {h.hydrozone}" for h in own}
        if len(kinds) > 1:
            yield Finding(
                rule="zone-mixed",
                severity="must",
                where=zone.id,
                what=f"{zone.id} mixes {' and '.join(sorted(kinds))}",
                do="Plan again; report this if it stays.",
            )
            continue
        rates = [precipitation_of(case.catalogue.nozzles[h.nozzle], h) for h in own]
        if max(rates) > MATCHED[zone.head_class] * min(rates):
            low, high = (own[rates.index(pick(rates))] for pick in (min, max))
            yield Finding(
                rule="matched-precipitation",
                severity="should",
                where=zone.id,
                what=f"over the ground each wets, {high.id} puts on {max(rates) / min(rates):.1f} times as much as "
                f"{low.id} ({high.nozzle} at {high.arc:.0f}°, {low.nozzle} at {low.arc:.0f}°), and "
                f"{MATCHED[zone.head_class]:g} times is the most: {_why_unlike(low, high)}",
                do="Allow rotary or spray heads, which are matched at every arc.",
                source="matched precipitation: NEH 623 ch. 11; the limit: common practice, no source",
            )


def _why_unlike(low: Head, high: Head) -> str:
    """Say why two heads of a zone could not be matched."""
    if low.lawn != high.lawn:
        return "the controller lacks a station to run their lawns apart"
    return "no nozzle of the chart serves both arcs and throws at one rate"


def works_as_laid_out(case: Inspection) -> Iterator[Finding]:
    """The rounds of planning ended where the solved heads pass what they were laid out for."""
    allowed = case.plan.yard.rules.flow_spread
    for proof in case.plan.proofs:
        if proof.stage == "feedback" and proof.value > allowed * SLACK:
            yield Finding(
                rule="not-settled",
                severity="should",
                where="yard",
                what=f"with its pipes some head passes {case.show(proof.value, 'share')} more or less than it was laid "
                f"out for, wanted {case.show(allowed, 'share')}; the evenness shown counts that in",
                do="Allow larger pipes or more stations, and look at the driest ground before digging.",
            )


def valve_kinds(case: Inspection) -> Iterator[Finding]:
    """The zone valves are of a kind that the user allows."""
    plan, plain = case.plan, "in-line valve"
    bought = sorted({line.part for line in plan.parts if line.part.startswith(plain)})
    if bought and plain not in plan.yard.valves.allowed:
        yield Finding(
            rule="valve-kind",
            severity="should",
            where="valves",
            what=f"{', '.join(bought)} is planned, the only kind under {plan.backflow}; valves.allowed lacks it",
            do="Allow the in-line valve, or only the atmospheric vacuum breaker as backflow kind.",
        )


def head_pressures(case: Inspection) -> Iterator[Finding]:
    """Every head works inside the pressure band of its chart, with the cautious supply too."""
    nozzles = {n.id: n for n in case.plan.nozzles}
    heads = {h.id: h for h in case.plan.heads}
    for zone in case.plan.zones:
        own = [nozzles[heads[h].nozzle] for h in zone.heads]
        low, high = max(n.lowest_pressure for n in own), min(n.highest_pressure for n in own)
        if zone.cautious_low < low / SLACK:
            yield Finding(
                rule="head-pressure-low",
                severity="must",
                where=zone.id,
                what=f"{zone.worst_head} may get only {case.show(zone.cautious_low, 'pressure')}; its chart starts at "
                f"{case.show(low, 'pressure')}",
                do="Split the zone, enlarge its pipes or choose another backflow kind.",
            )
        if zone.pressure_high > high * SLACK:
            yield Finding(
                rule="head-pressure-high",
                severity="should",
                where=zone.id,
                what=f"heads get up to {case.show(zone.pressure_high, 'pressure')}; the chart ends at "
                f"{case.show(high, 'pressure')}, above it spray turns to mist",
                do="Fit pressure-regulated heads or turn the valve's flow control down.",
            )
        if zone.flow_spread > case.plan.yard.rules.flow_spread * SLACK:
            yield Finding(
                rule="flow-spread",
                severity="should",
                where=zone.id,
                what=f"like heads differ by {case.show(zone.flow_spread, 'share')} in flow",
                do="Enlarge the laterals of the zone or split it.",
                source="NRCS CPS 442: flow within 10 %",
            )


def evenness(case: Inspection) -> Iterator[Finding]:
    """Each lawn is watered evenly enough, and water stays off buildings and paving."""
    rules = case.plan.yard.rules
    for lawn in case.plan.lawns:
        for one in (part for part in (lawn, *lawn.parts) if part.evenness.du < rules.lowest_du):
            driest = ", ".join(case.show(c, "length") for c in one.evenness.driest)
            yield Finding(
                rule="evenness",
                severity="should",
                where=one.id,
                what=f"DU of the low quarter is {case.show(one.evenness.du, 'share')}, wanted "
                f"{case.show(rules.lowest_du, 'share')} or more; driest near {driest}",
                do="Allow another head class there, or water that corner by hand.",
                source="NEH 623 ch. 11",
            )
        if lawn.on_building > _BUILDING_SHARE * lawn.water:
            yield Finding(
                rule="water-on-building",
                severity="must",
                where=lawn.id,
                what=f"{case.show(lawn.on_building / lawn.water, 'share')} of its water lands on a building",
                do="Turn the arcs away from the wall or shorten the throw.",
            )
        if lawn.on_paving > rules.overspray_paving * lawn.water:
            yield Finding(
                rule="overspray",
                severity="should",
                where=lawn.id,
                what=f"{case.show(lawn.on_paving / lawn.water, 'share')} of its water lands on paving, allowed "
                f"{case.show(rules.overspray_paving, 'share')}",
                do=_spilt(lawn, "Shorten the throw along the paving, or allow strip patterns there."),
            )
        if lawn.off_site > rules.overspray_paving * lawn.water:
            yield Finding(
                rule="overspray-off-site",
                severity="should",
                where=lawn.id,
                what=f"{case.show(lawn.off_site / lawn.water, 'share')} of its water lands beyond the drawn ground, "
                f"allowed {case.show(rules.overspray_paving, 'share')}",
                do=_spilt(lawn, "Turn down the heads along that edge; draw what lies there if it may be wet."),
            )


def _spilt(lawn: Lawn, advice: str) -> str:
    """What to do about water beside a lawn; a strip pattern cannot be turned narrower."""
    if lawn.head_class != "strip":
        return advice
    return (
        "The strip reaches past the lawn: shift its heads, add a narrower or shorter one to your nozzle chart, or make "
        "a bed of that lawn."
    )


def intake(case: Inspection) -> Iterator[Finding]:
    """Water goes on no faster than the soil takes it up; else it must be split in cycles."""
    heads = {h.id: h for h in case.plan.heads}
    fast: list[tuple[float, float, float, Zone]] = []  # times too fast, intake [m/s], slope, zone
    for zone in case.plan.zones:
        slope = float(case.ground.terrain.slope([heads[h].at for h in zone.heads]).mean())
        takes = case.catalogue.intake.get((case.plan.yard.soil.texture, slope_class(slope)))
        if takes is not None and zone.precipitation > takes:
            fast.append((zone.precipitation / takes, takes, slope, zone))
    if fast:
        _, takes, slope, worst = max(fast, key=lambda one: one[0])
        others = [zone.id for *_, zone in fast if zone.id != worst.id]
        too = f"; too fast for the soil as well: {' '.join(others)}" if others else ""
        yield Finding(
            rule="intake",
            severity="know",
            where=worst.id,
            what=f"{case.show(worst.precipitation, 'rate')} goes on and {case.plan.yard.soil.texture} on this slope "
            f"({case.show(slope, 'share')}) takes in about {case.show(takes, 'rate')}{too}",
            do="Water in short cycles with pauses, so that nothing runs off.",
            source="USDA maximum precipitation rates, as reprinted",
        )


def valve_heights(case: Inspection) -> Iterator[Finding]:
    """Backflow devices stand as high as their kind demands."""
    plan = case.plan
    if plan.backflow is not None and plan.places:
        yield from check_places(plan.places, plan.heads, plan.zones, case.catalogue.backflow[plan.backflow], plan.yard)
        yield Finding(
            rule="backflow-code",
            severity="know",
            where=plan.backflow,
            what="Local code decides which backflow kinds are legal, who may fit them and how often they are tested"
            + _NEVER.get(plan.backflow, ""),
            do=f"Ask the {'health office' if plan.yard.water_entry.well else 'water supplier'} before buying.",
        )


def first_idea(case: Inspection) -> Iterator[Finding]:
    """Hold the obvious first idea, sharing out the flow that filled the bucket, against the supply curve."""
    plan = case.plan
    fills = [point.flow for point in plan.supply.measured if point.label.startswith("bucket fill")]
    shared = sum(fills) / len(fills) if fills else plan.supply.open_flow
    source = "that filled the bucket" if fills else "of the open pipe"
    total = sum(zone.flow for zone in plan.zones)
    zones = math.ceil(total / shared) if shared > 0 else 0
    if not 0 < zones < len(plan.zones):
        return
    each = total / zones
    left = max(plan.supply.expected.pressure(each), 0.0)
    needed = plan.supply.reference_pressure
    if left < needed:
        number = "one zone" if zones == 1 else f"{zones} zones"
        yield Finding(
            rule="first-idea",
            severity="know",
            where="supply",
            what=f"{number} of {case.show(each, 'flow')} would stay within the "
            f"{case.show(shared, 'flow')} {source}, but only {case.show(left, 'pressure')} would be left at the entry, "
            f"and the heads need {case.show(needed, 'pressure')}",
            do=f"Keep the {len(plan.zones)} zones of this plan.",
            source="docs/theory/supply.md",
        )


def money(case: Inspection) -> Iterator[Finding]:
    """The plan keeps within the budget and every part has a price."""
    cost = case.plan.cost
    if cost and cost.budget is not None and cost.total > cost.budget:
        yield Finding(
            rule="budget",
            severity="should",
            where="yard",
            what=f"the plan costs {cost.total:.0f} {case.plan.yard.currency}, the budget is {cost.budget:.0f}",
            do="Dig by hand, do it in phases, or allow cheaper head classes.",
        )
    for line in unpriced(case.plan.parts):
        yield Finding(
            rule="unpriced", severity="should", where=line.part, what="no price known", do="Add it to your price file."
        )


CHECKS: tuple[Check, ...] = (
    heads_fed_once,
    pipes_continuous,
    ring_closed,
    main_as_asked,
    heads_on_lawn,
    pipes_clear,
    zones_within_supply,
    stations_enough,
    zones_alike,
    works_as_laid_out,
    valve_kinds,
    head_pressures,
    velocities,
    pipe_ratings,
    surges,
    evenness,
    paving_kept_dry,
    heads_keep_home,
    wind_is_bearable,
    valve_heights,
    laterals_below_devices,
    supply_basis,
    zones_sure,
    water_window,
    first_idea,
    house_use,
    static_pressure,
    misting,
    suction,
    well_rests,
    low_heads_drain,
    check_valves_hold,
    air_gets_out,
    runs_washed,
    meter_spared,
    flush_water_kept,
    *WIRE_CHECKS,
    can_be_assembled,
    manifolds_sound,
    money,
    existing_kept,
    pins_kept,
    intake,
)
