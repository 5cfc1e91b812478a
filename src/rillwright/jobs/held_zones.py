"""Heads that the user holds in one zone: to the zoning they are one head, which draws and needs what all of them do."""

from collections.abc import Sequence
from dataclasses import replace

from rillwright.errors import InputError
from rillwright.model.plan import Head
from rillwright.model.site import PinnedPipe, PinnedZone, Yard
from rillwright.solvers.zoning import HeadLoad, ZoneGroup, ZoneProblem, Zoning

__all__ = ["held_together", "joined", "parted"]

Together = tuple[frozenset[str], ...]


def held_together(heads: Sequence[Head], yard: Yard) -> Together:
    """The sets of heads that must share a zone, by the yard's pins.

    Errors: InputError when heads of two hydrozones are held together.
    """
    by_pin = {head.pin: head for head in heads if head.pin is not None}
    found: list[frozenset[str]] = []
    pins: tuple[PinnedZone | PinnedPipe, ...] = (*yard.pins.zones, *yard.pins.pipes)
    for pin in pins:
        own = [by_pin[name] for name in pin.heads if name in by_pin]
        if len({head.hydrozone for head in own}) > 1:
            raise InputError(
                f"Pin '{pin.id}' holds heads of several hydrozones together, which are watered apart: "
                "take some out of it, or give their lawns one exposure, planting and phase."
            )
        held = frozenset(head.id for head in own)
        held = held.union(*(other for other in found if other & held))
        if len(held) > 1:
            found = [other for other in found if not other & held] + [held]
    return tuple(found)


def joined(problem: ZoneProblem, together: Together) -> ZoneProblem:
    """The problem with each set as one head, which has the id and place of its first."""
    if not together:
        return problem
    loads = {load.id: load for load in problem.loads}
    serves = {place: set(heads) for place, heads in problem.may_serve.items()}
    for held in together:
        own = [load for load in problem.loads if load.id in held]
        loads[own[0].id] = _sum(own)
        for load in own[1:]:
            del loads[load.id]
        for heads in serves.values():
            whole = held <= heads
            heads -= held
            heads |= {own[0].id} if whole else set()
    return replace(problem, loads=tuple(loads.values()), may_serve={p: frozenset(h) for p, h in serves.items()})


def _sum(own: Sequence[HeadLoad]) -> HeadLoad:
    return replace(
        own[0],
        level=max(load.level for load in own),
        flow=sum(load.flow for load in own),
        capacity=min(load.capacity for load in own),
    )


def parted(zoning: Zoning, together: Together) -> Zoning:
    """The zoning with every head by itself again."""
    if not together:
        return zoning
    own = {name: held for held in together for name in held}

    def heads(group: ZoneGroup) -> tuple[str, ...]:
        return tuple(dict.fromkeys(each for name in group.heads for each in sorted(own.get(name, {name}))))

    return replace(zoning, groups=tuple(ZoneGroup(heads(group), group.place) for group in zoning.groups))
