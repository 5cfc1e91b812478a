"""Checks of a finished plan that look at its water: what the house draws meanwhile."""

from collections.abc import Iterator

from rillwright.jobs.inspection import SLACK, Inspection
from rillwright.model.findings import Finding
from rillwright.model.site import HOUSE_FLOWS

__all__ = ["house_use"]


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
