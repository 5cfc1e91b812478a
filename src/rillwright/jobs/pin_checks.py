"""Check of what the user holds fast: the plan has it, or says that it has not."""

from collections.abc import Iterator

from rillwright.jobs.inspection import Inspection
from rillwright.model.findings import Finding

__all__ = ["pins_kept"]


def pins_kept(case: Inspection) -> Iterator[Finding]:
    """Every held head stands where it is held, and heads held in one zone share one."""
    plan, pins = case.plan, case.plan.yard.pins
    stands = {head.pin: head for head in plan.heads if head.pin is not None}
    for pin in pins.heads:
        head = stands.get(pin.id)
        what = None
        if head is None:
            what = f"pinned head {pin.id} is not in the plan"
        elif head.at != pin.at:
            what = f"{head.id} stands off the place of pinned head {pin.id}"
        elif (
            pin.arc is not None
            and pin.arc_start is not None
            and (head.arc_start, head.arc) != _aim(pin.arc_start, pin.arc)
        ):
            what = f"{head.id} is not aimed as pinned head {pin.id}: no nozzle of its class throws {pin.arc:g}°"
        if what:
            yield _given_up("yard" if head is None else head.id, what)
    zone_of = {head: zone.id for zone in plan.zones for head in zone.heads}
    for held in pins.zones if plan.zones else ():
        zones = {zone_of.get(stands[name].id) for name in held.heads if name in stands}
        if len(zones) > 1:
            yield _given_up("yard", f"pinned zone {held.id} is spread over {len(zones)} zones")


def _aim(start: float, arc: float) -> tuple[float, float]:
    return start % 360, arc


def _given_up(where: str, what: str) -> Finding:
    do = "Take the pin off, or change what stands against it."
    return Finding(rule="pin-given-up", severity="should", where=where, what=what, do=do)
