"""The plan being built in the yard as it is written now: its pins, stations and hours may have changed since."""

import math

from rillwright.errors import InputError
from rillwright.model.plan import Head, Plan
from rillwright.model.site import Yard

__all__ = ["in_yard"]

_AT = 0.3  # [m] a head of the plan this near to a pinned one is that one


def in_yard(plan: Plan, yard: Yard) -> Plan:
    """The plan with the yard as written now, and its heads held by the yard's pins.

    Errors: InputError when the yard's ground, trees or water entry are no longer those of the plan, when a pin holds a
    head that the plan does not have, or when the plan keeps pipe that lay in the ground before it.
    """
    for what in ("areas", "trees", "spot_heights"):
        if getattr(plan.yard, what) != getattr(yard, what):
            raise InputError(f"The yard's {what.replace('_', ' ')} differ from those of the plan: give the plan of it.")
    if plan.yard.water_entry != yard.water_entry or plan.yard.units != yard.units:
        raise InputError("The yard's water entry or units differ from those of the plan: give the plan of this yard.")
    kept = [use.id for use in plan.existing if use.kind == "pipe" and use.kept_as]
    if kept:
        raise InputError(
            f"This plan keeps pipe that lay in the ground before it ({kept[0]}), and digging beside such pipe cannot "
            "be weighed here yet: make a new plan, with what is built by now under 'existing'."
        )
    pins: dict[str, str] = {}
    for pin in yard.pins.heads:
        near = min(plan.heads, key=lambda head: math.dist(head.at, pin.at), default=None)
        if near is None or math.dist(near.at, pin.at) > _AT or near.head_class != pin.head_class:
            raise InputError(f"Pin '{pin.id}' holds a {pin.head_class} head where the plan has none: take it out.")
        pins[near.id] = pin.id
    heads = tuple(_held(head, pins.get(head.id)) for head in plan.heads)
    return plan.model_copy(update={"yard": yard, "heads": heads})


def _held(head: Head, pin: str | None) -> Head:
    return head if head.pin == pin else head.model_copy(update={"pin": pin})
