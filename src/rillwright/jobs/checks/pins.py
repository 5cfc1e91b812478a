"""Check of what the user holds fast: the plan has it, or says that it has not."""

from collections.abc import Iterator

import shapely
from shapely.geometry import LineString

from rillwright.jobs.checks.inspection import Inspection
from rillwright.model.findings import Finding
from rillwright.model.pin_rules import outdoors
from rillwright.model.site import PinnedPipe
from rillwright.physics.units import parse, show

__all__ = ["pins_kept"]

OFF_LINE = 0.3  # [m] that a pipe may lie beside the line that it is held on


def pins_kept(case: Inspection) -> Iterator[Finding]:
    """Held heads stand where they are held, heads held in one zone share one, and pipes lie where they are held."""
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
    for pipe in pins.pipes if plan.pipes else ():
        yield from _pipe(case, pipe, {zone_of.get(stands[name].id) for name in pipe.heads if name in stands})


def _pipe(case: Inspection, pin: PinnedPipe, zones: set[str | None]) -> Iterator[Finding]:
    """A held pipe lies where it is held, in its size, and feeds the heads that it is of."""
    plan, line = case.plan, outdoors(pin.path, case.ground)
    own = [p for p in plan.pipes if p.pin is not None and p.role == pin.role and (not zones or p.zone in zones)]
    missing = line or LineString(pin.path)
    if own:
        missing = missing.difference(shapely.unary_union([LineString(p.path) for p in own]).buffer(OFF_LINE))
    if missing.length > OFF_LINE:
        whole = "none" if missing.length > 0.99 * LineString(pin.path).length else "not all"
        what = (
            f"{whole} of pinned pipe {pin.id} is laid: {show(missing.length, 'length', plan.yard.units)} of it would "
            "lead to nothing that it could feed"
        )
        yield _given_up("yard", what)
    for pipe in plan.pipes:
        size = pin.size or pin.least_size
        if pipe.pin != pin.id or size is None:
            continue
        narrow = parse(pipe.size, "bore") < parse(size, "bore")
        if narrow or (pin.size is not None and pipe.size != size):
            yield _given_up(pipe.id, f"{pipe.id} is {pipe.size}, and pinned pipe {pin.id} is held at {size}")


def _aim(start: float, arc: float) -> tuple[float, float]:
    return start % 360, arc


def _given_up(where: str, what: str) -> Finding:
    do = "Take the pin off, or change what stands against it."
    return Finding(rule="pin-given-up", severity="should", where=where, what=what, do=do)
