"""Checks of a finished plan that look at its water: what the house draws, and what the street gives too much of."""

from collections.abc import Iterator

from rillwright.jobs.checks.inspection import SLACK, Inspection
from rillwright.model.findings import Finding
from rillwright.model.regulation import HIGHEST_STATIC
from rillwright.model.site import HOUSE_FLOWS
from rillwright.solvers.supply import LOWEST_SUCTION, pump_curve

__all__ = ["house_use", "misting", "static_pressure", "suction"]


def house_use(case: Inspection) -> Iterator[Finding]:
    """Say when a shower would take a head below its chart, where the plan holds nothing back for the house."""
    plan = case.plan
    if plan.yard.rules.reserve > 0:
        return
    lowest = {nozzle.id: nozzle.lowest_pressure for nozzle in plan.nozzles}
    nozzle_of = {head.id: head.nozzle for head in plan.heads}
    shower, expected = HOUSE_FLOWS["a shower"], plan.supply.expected
    for zone in plan.zones:
        drop = expected.pressure(zone.flow) - expected.pressure(zone.flow + shower)
        left, needed = zone.pressure_low - drop, lowest[nozzle_of[zone.worst_head]]
        if left < needed / SLACK:
            yield Finding(
                rule="house-use",
                severity="know",
                where=zone.id,
                what=f"a shower in the house ({case.show(shower, 'flow')}) takes {case.show(drop, 'pressure')} off the "
                f"supply while it runs; {zone.worst_head} would be left with about {case.show(left, 'pressure')}, its "
                f"chart starts at {case.show(needed, 'pressure')}",
                do="Water when the house sleeps, or plan with rules.house_use 'a shower'.",
                source="docs/theory/supply.md; shower 2.5 gpm: EPAct 1992, from memory",
            )
            return


def static_pressure(case: Inspection) -> Iterator[Finding]:
    """Codes ask for a pressure reducing valve where the street gives over 80 psi."""
    found = case.plan.regulation
    if found is None or found.static <= HIGHEST_STATIC:
        return
    what = f"{case.show(found.static, 'pressure')} stand at the entry with nothing running; codes ask for a pressure "
    what += f"reducing valve over {case.show(HIGHEST_STATIC, 'pressure')}"
    if found.lets_through is None:
        do = "Fit one and measure behind it, or allow 'source' in the yard's regulation."
        if case.plan.yard.water_entry.well is not None:
            do = "Have the pump's switch set to stop lower."
    else:
        what += (
            f". The plan has one, and counts on {case.show(found.lets_through, 'pressure')} behind it while water runs"
        )
        do = "Have it fitted before the main; where one serves the house already, measure behind it and plan again."
    yield Finding(
        rule="static-pressure",
        severity="should" if found.lets_through is None else "know",
        where="supply",
        what=what,
        do=do,
        source="IPC 604.8, UPC 608.2, from memory",
    )


def misting(case: Inspection) -> Iterator[Finding]:
    """No head mists when the supply stands at the top of its band."""
    if case.plan.regulation is None:
        return
    over = [zone for zone in case.plan.regulation.zones if zone.after > zone.limit * SLACK]
    if over:
        worst = max(over, key=lambda zone: zone.after / zone.limit)
        others = ", ".join(zone.zone for zone in over if zone is not worst)
        yield Finding(
            rule="misting",
            severity="should",
            where=worst.zone,
            what=f"heads get up to {case.show(worst.after, 'pressure')} when the supply is at its best; over "
            f"{case.show(worst.limit, 'pressure')} the spray turns to mist" + (f". So do {others}" if others else ""),
            do="Allow regulation at the head, or turn the flow control down while the supply is at its best.",
            source="end of the nozzle's chart",
        )


def suction(case: Inspection) -> Iterator[Finding]:
    """A booster pump never pulls the service below 20 psi, with the cautious supply."""
    pump = case.plan.yard.water_entry.booster
    if pump is None or not case.plan.zones:
        return
    shutoff, fall, exponent = pump_curve(pump)
    zone = max(case.plan.zones, key=lambda z: z.flow)
    drawn = zone.flow + case.plan.yard.rules.reserve
    behind = case.plan.supply.cautious.model_copy(update={"cap": None}).pressure(drawn)
    before = behind - (shutoff - fall * drawn**exponent)
    if before < LOWEST_SUCTION / SLACK:
        yield Finding(
            rule="suction",
            severity="must",
            where=zone.id,
            what=f"the booster pump would pull the service down to {case.show(before, 'pressure')} with "
            f"{case.show(drawn, 'flow')} running; suppliers ask for {case.show(LOWEST_SUCTION, 'pressure')} or more",
            do="Allow lower-flow heads, or a larger service pipe.",
            source="common code rule, 20 psi, from memory",
        )
