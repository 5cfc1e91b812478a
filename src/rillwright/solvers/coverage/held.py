"""Heads that the user holds in place: they stand in every layout, and the search works round them."""

import math
from collections.abc import Sequence
from dataclasses import replace

from shapely.geometry import Point

from rillwright.model.ground import Ground
from rillwright.model.site import PinnedHead, Yard
from rillwright.solvers.coverage.arcs import Stand
from rillwright.solvers.coverage.kit import STEP, Family, Throw
from rillwright.solvers.coverage.placement import Seat
from rillwright.solvers.coverage.trial import Field

__all__ = ["pins_on", "with_held"]

_CLEAR = 0.5  # of a radius round a held head that other heads of a first layout leave free


def pins_on(lawn: str, *, yard: Yard, ground: Ground) -> tuple[PinnedHead, ...]:
    """The held heads of a lawn: each belongs to the lawn nearest to it."""
    if not yard.pins.heads:
        return ()
    home = {pin.id: min(ground.lawns, key=lambda n: ground.lawns[n].distance(Point(pin.at))) for pin in yard.pins.heads}
    return tuple(pin for pin in yard.pins.heads if home[pin.id] == lawn)


def with_held(stands: Sequence[Stand], pins: Sequence[PinnedHead], *, field: Field, family: Family) -> list[Stand]:
    """A first layout with the held heads in it, in place of those that would stand on their heels."""
    held = [_held(pin, stands, field, family) for pin in pins]
    free = [
        stand
        for stand in stands
        if all(math.dist(stand.at, h.at) > _CLEAR * min(stand.throw.radius, h.throw.radius) for h in held)
    ]
    return [*held, *free]


def _held(pin: PinnedHead, stands: Sequence[Stand], field: Field, family: Family) -> Stand:
    """The best setting of a held head; as it is aimed, when the user says so."""
    near = min(stands, key=lambda stand: math.dist(stand.at, pin.at), default=None)
    stand = field.aim(Seat(pin.at, family.radius, corner=True), family) or near
    if stand is None:
        throw = field.kit.throws[0]
        arcs = field.kit.arcs(throw.nozzle) if throw.nozzle.pattern == "sector" else (0,)
        stand = Stand(pin.at, throw, 0.0, float(arcs[0] * STEP), throw.radius)
    stand = replace(stand, at=pin.at, pinned=True, held=pin.id)
    if pin.arc_start is None or pin.arc is None:
        return stand
    able = [throw for throw in field.kit.throws if _can_throw(throw, pin.arc)]
    chosen = min(able, key=lambda t: abs(math.log(t.radius / stand.throw.radius)), default=None)
    if chosen is None:
        return stand
    return replace(stand, throw=chosen, arc_start=pin.arc_start % 360, arc=pin.arc, aimed=True)


def _can_throw(throw: Throw, arc: float) -> bool:
    """Whether a nozzle can be set to an arc [°]; the search sets arcs in whole steps, a user need not."""
    nozzle = throw.nozzle
    if nozzle.pattern != "sector":
        return arc == 0
    return arc in nozzle.fixed_arcs if nozzle.fixed_arcs else nozzle.arc_low <= arc <= nozzle.arc_high
