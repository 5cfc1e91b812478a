"""Checks of a finished plan that look at its zones, their valves and their backflow devices."""

import math
from collections.abc import Iterator

from rillwright.jobs.checks.inspection import SLACK, Inspection
from rillwright.model.catalogue import MATCHED, precipitation_of
from rillwright.model.findings import Finding
from rillwright.model.fittings import nominal
from rillwright.model.plan import Head
from rillwright.model.site import BackflowKind
from rillwright.solvers.places import check_places

__all__ = [
    "first_idea",
    "stations_enough",
    "valve_heights",
    "valve_kinds",
    "works_as_laid_out",
    "zones_alike",
    "zones_within_supply",
]


_NEVER: dict[BackflowKind, str] = {
    "atmospheric vacuum breaker": "; this kind may stand under pressure for no more than 12 hours in 24 and takes no "
    "shut-off after it (ASSE 1001)",
    "pressure vacuum breaker": "; the main before it is drinking-water pipe in material and law",
    "reduced pressure zone": "; this kind spills water when it works: give it a drain, never set it in a pit or over a "
    "finished floor",
    "double check": "; this kind is not for places where chemicals or fertiliser are injected",
}


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


def device_sizes(case: Inspection) -> Iterator[Finding]:
    """Backflow devices narrower than their line: the code may ask for the line's size."""
    yard = case.plan.yard
    narrow = [p for p in case.plan.places if p.backflow_size and nominal(p.backflow_size) < nominal(yard.backflow_line)]
    if not narrow:
        return
    sizes = ", ".join(dict.fromkeys(place.backflow_size or "" for place in narrow))
    yield Finding(
        rule="backflow-size",
        severity="know",
        where=narrow[0].backflow,
        what=f"{sizes} is enough for the zones, with every head's pressure kept, and costs less than the "
        f"{yard.backflow_line} of the line; some codes ask for the line's size",
        do=f"Ask with the kind; where the code wants it, set backflow.size to '{yard.backflow_line}' and plan again.",
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
