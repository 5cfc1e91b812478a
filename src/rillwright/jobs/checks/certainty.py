"""Checks on how sure a plan is: what the supply rests on, chances too small, and what to measure about it."""

from collections.abc import Iterator

from rillwright.jobs.checks.inspection import Inspection
from rillwright.model.certainty import Subject, ZoneCertainty
from rillwright.model.findings import Finding

__all__ = ["SOUND_BASES", "supply_basis", "water_window", "zones_sure"]

SOUND_BASES = ("static and flow measured", "pump's curve and flow measured")
_WINDOW_CERTAINTY = 0.90  # chance below which the hours of watering are called too few
_ERRORS = 2.0  # standard errors of sampling that a chance may lie under its limit
_SOURCE = "docs/theory/certainty.md"


def supply_basis(case: Inspection) -> Iterator[Finding]:
    """Say when the supply rests on assumptions rather than on measurements."""
    supply = case.plan.supply
    if supply.basis not in SOUND_BASES:
        yield Finding(
            rule="supply-assumed",
            severity="should",
            where="supply",
            what=f"the supply curve rests on: {supply.basis}",
            do=f"Before buying parts, measure: {_next(case, 'supply')}.",
        )
    for doubt in supply.doubts:
        yield Finding(
            rule="supply-doubt",
            severity="should",
            where="supply",
            what=doubt,
            do="Clear this up before buying parts: every zone is sized by it.",
        )


def zones_sure(case: Inspection) -> Iterator[Finding]:
    """Every zone has its heads inside their pressure band nearly always."""
    certainty = case.plan.certainty
    wanted = case.plan.yard.rules.supply_certainty
    for zone in certainty.zones if certainty else ():
        if zone.sound.value + _ERRORS * zone.sound.error >= wanted:
            continue
        short = min(head.enough.value for head in zone.heads)
        misty = min(head.not_too_much.value for head in zone.heads)
        low, high = case.show(zone.worst.low, "pressure"), case.show(zone.best.high, "pressure")
        yield Finding(
            rule="zone-unsure",
            severity="should",
            where=zone.id,
            what=f"every head of {zone.id} is inside its pressure band in {case.show(zone.sound.value, 'share')} of "
            f"the draws (± {case.show(zone.sound.error, 'share')}), wanted {case.show(wanted, 'share')}; its heads get "
            f"from {low} to {high}{_house(case, zone, wanted)}",
            do=_remedy(case, short=short, misty=misty),
            source=_SOURCE,
        )


def _house(case: Inspection, zone: ZoneCertainty, wanted: float) -> str:
    if zone.undisturbed.value < wanted:
        return ""
    return f"; while nobody in the house draws water it is {case.show(zone.undisturbed.value, 'share')}"


def _remedy(case: Inspection, *, short: float, misty: float) -> str:
    if misty < short:
        return "Set the flow control by a gauge, or fit pressure-regulated heads."
    first = _next(case, "supply", "ground", "heads")
    return (
        f"Measure before buying parts: {first}. If that does not settle it, split the zone, enlarge its pipes or hold "
        "water back for the house (rules.house_reserve)."
    )


def water_window(case: Inspection) -> Iterator[Finding]:
    """The week's water fits into the hours that may be used."""
    window = case.plan.certainty.window if case.plan.certainty else None
    if window is None or window.suffices.value + _ERRORS * window.suffices.error >= _WINDOW_CERTAINTY:
        return
    rate = window.available / window.nights
    stated = "assumed, as the yard states none" if window.assumed else f"{window.nights} nights"
    yield Finding(
        rule="water-window",
        severity="know" if window.assumed else "should",
        where="yard",
        what=f"in the peak of the season the zones need {case.show(window.needed.median, 'hours')} a week (90 % band "
        f"{case.show(window.needed.low, 'hours')} to {case.show(window.needed.high, 'hours')}); there are "
        f"{case.show(window.available, 'hours')} ({stated}), enough in {case.show(window.suffices.value, 'share')} of "
        "the draws",
        do=f"Allow {case.show(window.ample, 'hours')} a week, such as {window.ample / rate:.1f} nights of "
        f"{case.show(rate, 'hours')}; or water less than the turf's full need in the peak; or allow head classes that "
        "put water on faster.",
        source=_SOURCE,
    )


def _next(case: Inspection, *subjects: Subject) -> str:
    """The best further measurement of a subject."""
    certainty = case.plan.certainty
    further = [item.what for item in certainty.next_measurements if item.of in subjects] if certainty else []
    return further[0] if further else "a gauge reading at the entry"
