"""Heads that stand where they stand: held by the user, or in the ground of a yard part-built.

A held head is in every layout. A head in the ground costs less than a new one, and giving it up costs its moving: the
search may take it away where that pays. New heads are placed round both.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from shapely.geometry import Point

from rillwright.model.front import HEAD_MONEY, kept_money
from rillwright.model.ground import Ground
from rillwright.model.joined import nearest
from rillwright.model.pin_rules import SAME_PLACE
from rillwright.model.site import ExistingHead, HeadClass, PinnedHead, Yard
from rillwright.solvers.coverage.arcs import Stand
from rillwright.solvers.coverage.kit import STEP, Family, Throw
from rillwright.solvers.coverage.placement import Seat
from rillwright.solvers.coverage.trial import Field

__all__ = ["Standing", "existing_on", "pins_on", "standing_on"]

_CLEAR = 0.5  # of a radius round a held head that other heads of a first layout leave free

_Placed = TypeVar("_Placed", PinnedHead, ExistingHead)


def pins_on(lawn: str, *, yard: Yard, ground: Ground) -> tuple[PinnedHead, ...]:
    """The held heads of a lawn: each belongs to the lawn nearest to it."""
    return _at_home(yard.pins.heads, lawn, ground)


def existing_on(lawn: str, *, yard: Yard, ground: Ground) -> tuple[ExistingHead, ...]:
    """The heads in the ground of a lawn, but for those where a pin holds one of their class."""
    pins = [(pin.at, pin.head_class) for pin in yard.pins.heads]
    free = [
        head
        for head in yard.existing.heads
        if all(head.head_class != kind or math.dist(head.at, at) >= SAME_PLACE for at, kind in pins)
    ]
    return _at_home(free, lawn, ground)


def _at_home(placed: Sequence[_Placed], lawn: str, ground: Ground) -> tuple[_Placed, ...]:
    return tuple(one for one in placed if nearest(Point(one.at), ground.lawns) == lawn)


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands on a lawn before any head is placed: held heads, and those in the ground of the class laid out."""

    pins: tuple[PinnedHead, ...]
    existing: tuple[ExistingHead, ...]
    weights: tuple[float, ...]  # of each head in the ground against a new one

    def __bool__(self) -> bool:
        """Whether there is any."""
        return bool(self.pins or self.existing)

    def layouts(self, stands: Sequence[Stand], field: Field, family: Family) -> Iterator[list[Stand]]:
        """A first layout that gives up what is in the ground, and one round it; both without heads on others' heels."""
        held = _in_place(stands, [_held(pin, stands, field, family) for pin in self.pins])
        yield held
        pairs = zip(self.existing, self.weights, strict=True)
        there = [_in_ground(head, stands, field, family)._replace(weight=weight) for head, weight in pairs]
        if there:
            yield _in_place(held, there)


def standing_on(lawn: str, head_class: HeadClass, *, yard: Yard, ground: Ground) -> Standing:
    """What stands on a lawn that is laid out with a class."""
    alike = tuple(head for head in existing_on(lawn, yard=yard, ground=ground) if head.head_class == head_class)
    weights = tuple((kept_money(head, yard) - head.moving_cost) / HEAD_MONEY for head in alike)
    return Standing(pins_on(lawn, yard=yard, ground=ground), alike, weights)


def _in_place(stands: Sequence[Stand], standing: Sequence[Stand]) -> list[Stand]:
    free = [
        stand
        for stand in stands
        if stand.held
        or all(math.dist(stand.at, s.at) > _CLEAR * min(stand.throw.radius, s.throw.radius) for s in standing)
    ]
    return [*standing, *free]


def _held(pin: PinnedHead, stands: Sequence[Stand], field: Field, family: Family) -> Stand:
    """The best setting of a held head; as it is aimed, when the user says so."""
    stand = _set_at(pin.at, stands, field, family)._replace(held=pin.id)
    if pin.arc_start is None or pin.arc is None:
        return stand
    arc = pin.arc
    throw = _nearest(field, stand.throw.radius, lambda throw: throw.nozzle.can_throw(arc))
    return stand if throw is None else stand._replace(throw=throw, arc_start=pin.arc_start % 360, arc=arc, aimed=True)


def _in_ground(head: ExistingHead, stands: Sequence[Stand], field: Field, family: Family) -> Stand:
    """A head in the ground: as it works where its nozzle is known, else the best setting there."""
    if head.nozzle is not None:
        throw = _nearest(field, head.radius or math.inf, lambda throw: throw.nozzle.id == head.nozzle)
        assert throw is not None, f"nozzle {head.nozzle} is not in the kit: check_nozzles lets no such yard through"
        return Stand(
            head.at,
            throw,
            head.arc_start % 360,
            head.arc,
            throw.radius,
            pinned=True,
            existing=head.id,
            fixed=True,
        )
    return _set_at(head.at, stands, field, family)._replace(existing=head.id)


def _set_at(at: tuple[float, float], stands: Sequence[Stand], field: Field, family: Family) -> Stand:
    """The best setting of a head that must stand at a place."""
    near = min(stands, key=lambda stand: math.dist(stand.at, at), default=None)
    stand = field.aim(Seat(at, family.radius, corner=True), family) or near
    if stand is None:
        throw = field.kit.throws[0]
        arcs = field.kit.arcs(throw.nozzle) if throw.nozzle.pattern == "sector" else (0,)
        stand = Stand(at, throw, 0.0, float(arcs[0] * STEP), throw.radius)
    return Stand(at, stand.throw, stand.arc_start, stand.arc, stand.wanted, pinned=True)


def _nearest(field: Field, radius: float, suits: Callable[[Throw], bool]) -> Throw | None:
    """The throw nearest to a radius [m] of those that suit."""
    able = [throw for throw in field.kit.throws if suits(throw)]
    if radius == math.inf:
        return able[-1] if able else None
    return min(able, key=lambda throw: abs(math.log(throw.radius / radius)), default=None)
