"""Checks of a finished plan that look at filling it and at flushing what fell in while it was built."""

from collections.abc import Iterator

from rillwright.jobs.checks.inspection import Inspection
from rillwright.model.findings import Finding
from rillwright.model.flushing import FLUSH_VELOCITY, LEAST_FLUSH_VELOCITY

__all__ = ["air_gets_out", "flush_water_kept", "meter_spared", "runs_washed"]

_SOURCE = "docs/theory/flushing.md"


def air_gets_out(case: Inspection) -> Iterator[Finding]:
    """No air stays under a crest while its line runs."""
    found = case.plan.flushing
    staying = [pocket for pocket in found.pockets if pocket.stays] if found else []
    for pocket in staying:
        what = f"air gathers under its crest, {case.show(pocket.rise, 'length')} over the next opening: up to "
        what += f"{case.show(pocket.volume, 'volume')}. The water in {pocket.falls_in} makes "
        what += (
            f"{case.show(pocket.velocity, 'velocity')}, and {case.show(pocket.clears, 'velocity')} would carry it on"
        )
        do = "Bring a head's riser or a capped flushing tee up at the crest, and open it when the zone is first filled."
        if pocket.line == "main":
            do = "Set an air release valve or a capped flushing tee in a box at the crest, or dig so that it rises on."
        yield Finding(
            rule="air-stays",
            severity="should" if pocket.line == "main" else "know",
            where=pocket.pipe,
            what=what,
            do=do,
            source=_SOURCE,
        )


def runs_washed(case: Inspection) -> Iterator[Finding]:
    """Every run of pipe sees, in some step of flushing, water fast enough to carry grit."""
    found = case.plan.flushing
    slow = [run for run in found.runs if run.velocity < FLUSH_VELOCITY] if found else []
    if not slow:
        return
    worst = min(slow, key=lambda run: run.velocity)
    others = ", ".join(run.pipe for run in slow if run is not worst)
    do = (
        "Keep pipe clean and its ends capped in the trench, and flush this part from a larger opening, before the last "
    )
    do += "riser's tee is put on."
    if worst.line == "main":
        do = "Flush the main before its branches or its ring are joined, one part at a time; keep open ends capped."
    yield Finding(
        rule="flush-velocity",
        severity="should" if worst.velocity < LEAST_FLUSH_VELOCITY else "know",
        where=worst.pipe,
        what=f"when it is flushed the supply gives {case.show(worst.velocity, 'velocity')} in it at the most, step "
        f"{worst.step}; {case.show(FLUSH_VELOCITY, 'velocity')} carry grit" + (f". So too {others}" if others else ""),
        do=do,
        source=f"common practice, no source; {_SOURCE}",
    )


def meter_spared(case: Inspection) -> Iterator[Finding]:
    """Say when an open end may draw more than the meter bears."""
    found, meter = case.plan.flushing, case.plan.yard.water_entry.meter
    if found is None or meter is None:
        return
    bears, open_flow = case.catalogue.meters[meter.size].safe_maximum, case.plan.supply.open_flow
    if open_flow > bears:
        yield Finding(
            rule="flush-meter",
            severity="know",
            where="supply",
            what=f"an open end may draw {case.show(open_flow, 'flow')} through the meter, which bears "
            f"{case.show(bears, 'flow')}",
            do="Open the shut-off before the main only so far when flushing, and watch the meter's hand.",
            source="safe maximum of the meter: AWWA C700, from memory",
        )


def flush_water_kept(case: Inspection) -> Iterator[Finding]:
    """Say which ends send their water onto paving, a building or off the site."""
    found = case.plan.flushing
    astray = [way for way in found.runoff if way.surface] if found else []
    if found is None or not astray:
        return
    most = max(step.volume for step in found.steps)
    places = sorted({"off the site" if way.surface == "off site" else f"onto {way.surface}" for way in astray})
    yield Finding(
        rule="flush-water",
        severity="know",
        where="flushing",
        what=f"water flushed out of {' '.join(way.end for way in astray)} runs downhill {' and '.join(places)}; a "
        f"step lets out up to {case.show(most, 'volume')}",
        do="Lead it by a hose or a board onto the lawn, away from the road, the house and the neighbour's ground.",
        source=_SOURCE,
    )
