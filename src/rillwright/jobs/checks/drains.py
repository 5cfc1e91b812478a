"""Checks of a finished plan that look at the water which runs out when a zone stops."""

from collections.abc import Iterator

from rillwright.jobs.checks.inspection import SLACK, Inspection
from rillwright.model.drainage import HIGHEST_HOLD, LARGEST_PUDDLE, USUAL_HOLD
from rillwright.model.findings import Finding

__all__ = ["check_valves_hold", "low_heads_drain"]


def low_heads_drain(case: Inspection) -> Iterator[Finding]:
    """No head empties the pipes over it each time its zone stops."""
    over = [one for one in case.plan.drainage if one.at_wettest > LARGEST_PUDDLE * SLACK]
    if not over:
        return
    worst = max(over, key=lambda one: one.at_wettest)
    others = ", ".join(one.zone for one in over if one is not worst)
    do = "Allow check valves in the heads: heads.check_valves 'where needed'."
    if case.plan.yard.heads.check_valves != "none":
        do = f"No head's check valve holds over {case.show(HIGHEST_HOLD, 'length')} of water: water the slope in two "
        do += "zones, one above the other, or set in-line check valves in the laterals that climb."
    yield Finding(
        rule="low-head-drainage",
        severity="should",
        where=worst.wettest or worst.zone,
        what=f"each time {worst.zone} stops, {case.show(worst.at_wettest, 'volume')} run out of {worst.wettest}, over "
        f"{case.show(LARGEST_PUDDLE, 'volume')}: a puddle, and pipes to be filled anew"
        + (f". The same in {others}" if others else ""),
        do=do,
        source="docs/theory/water.md; the limit is ours",
    )


def check_valves_hold(case: Inspection) -> Iterator[Finding]:
    """Say which check valves must be of the stronger kind."""
    strong = [one for zone in case.plan.drainage for one in zone.checked if one.column > USUAL_HOLD]
    if strong:
        most = max(strong, key=lambda one: one.column)
        yield Finding(
            rule="check-valve-hold",
            severity="know",
            where=most.head,
            what=f"its check valve must hold {case.show(min(most.column, HIGHEST_HOLD), 'length')} of water; the "
            f"weaker ones of the trade hold {case.show(USUAL_HOLD, 'length')}. So must {len(strong)} in all",
            do="Buy heads whose check valve is stated to hold the height in the report's drainage table.",
            source="8 to 14 ft, from memory",
        )
