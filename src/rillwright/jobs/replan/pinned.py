"""The plan being built in the yard as it is written now: its pins, stations and hours may have changed since."""

from collections.abc import Mapping, Set
from typing import TypeVar

import shapely
from shapely.geometry import LineString

from rillwright.errors import InputError
from rillwright.model.pinned import held_head
from rillwright.model.plan import Head, Pipe, Plan
from rillwright.model.site import PinnedPipe, Yard

__all__ = ["in_yard"]

_AT = 0.3  # [m] a pipe of the plan this near to a pinned line lies on it

Part = TypeVar("Part", Head, Pipe)


def in_yard(plan: Plan, yard: Yard) -> Plan:
    """The plan with the yard as written now, and its heads and pipes held by the yard's pins.

    Errors: InputError when the yard's ground, trees, water entry or what lay there before are no longer those of the
    plan, or when a pin holds a head or a pipe that the plan does not have.
    """
    if plan.yard.spot_heights != yard.spot_heights:
        raise InputError(
            "The yard has other spot heights than the plan was made on. Take them out again (in the page by Undo) and "
            "look for changes on the ground that was planned on; or plan the yard anew and build by that plan."
        )
    for what in ("areas", "trees"):
        if getattr(plan.yard, what) != getattr(yard, what):
            raise InputError(f"The yard's {what.replace('_', ' ')} differ from those of the plan: give the plan of it.")
    if plan.yard.water_entry != yard.water_entry or plan.yard.units != yard.units:
        raise InputError("The yard's water entry or units differ from those of the plan: give the plan of this yard.")
    if plan.yard.existing != yard.existing:
        raise InputError(
            "What the yard says of 'existing' differs from the plan: what is built since belongs into the log."
        )
    pins: dict[str, str] = {}
    for pin in yard.pins.heads:
        near = held_head(pin, plan.heads)
        if near is None:
            raise InputError(f"Pin '{pin.id}' holds a {pin.head_class} head where the plan has none: take it out.")
        pins[plan.heads[near].id] = pin.id
    held = _pipe_pins(plan, yard, pins)
    heads = tuple(_held(head, pins.get(head.id)) for head in plan.heads)
    pipes = tuple(_held(pipe, held.get(pipe.id)) for pipe in plan.pipes)
    return plan.model_copy(update={"yard": yard, "heads": heads, "pipes": pipes})


def _pipe_pins(plan: Plan, yard: Yard, heads: Mapping[str, str]) -> dict[str, str]:
    """The pin that holds each pipe of the plan: the one it was laid for, else the shortest new one that it lies along.

    Parameters: heads, their pins. Errors: InputError for a new pin that the plan's pipes do not lie all along.
    """
    new = [pin for pin in yard.pins.pipes if pin not in plan.yard.pins.pipes]
    old = {pin.id for pin in yard.pins.pipes} - {pin.id for pin in new}
    held: dict[str, str] = {}
    for pin in sorted(new, key=lambda pin: -LineString(pin.path).length):
        own = _along(pin, plan, {name for name, by in heads.items() if by in pin.heads})
        laid = shapely.unary_union([LineString(pipe.path) for pipe in own]).buffer(_AT)
        if not laid.covers(LineString(pin.path)):
            raise InputError(
                f"Pin '{pin.id}' holds a {pin.role} on a line that the plan does not lay whole: take it out."
            )
        held |= {pipe.id: pin.id for pipe in own}
    return held | {pipe.id: pipe.pin for pipe in plan.pipes if pipe.pin in old}


def _along(pin: PinnedPipe, plan: Plan, heads: Set[str]) -> list[Pipe]:
    """Pipes of the plan, of the zones of some heads if any are named, that lie on a pin's line from end to end."""
    beside = LineString(pin.path).buffer(_AT)
    zones = {zone.id for zone in plan.zones if heads & {*zone.heads}}
    able = [pipe for pipe in plan.pipes if pipe.role == pin.role and (not zones or pipe.zone in zones)]
    return [pipe for pipe in able if beside.covers(LineString(pipe.path))]


def _held(part: Part, pin: str | None) -> Part:
    return part if part.pin == pin else part.model_copy(update={"pin": pin})
