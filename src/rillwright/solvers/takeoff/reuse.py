"""What a plan keeps of a yard part-built, and what it gives up.

A head is kept where the plan sets one of its class on it, a valve place where the plan has one there, a pipe where the
plan lays one of its role, material and size along it. What is kept is free; what is not costs its moving cost.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Literal

import shapely
from shapely.geometry import LineString

from rillwright.model.plan import ExistingUse, Head, Pipe, Point, ValvePlace
from rillwright.model.site import ExistingPipe, Yard
from rillwright.solvers.takeoff.network import swing_joint
from rillwright.solvers.takeoff.tally import Tally

__all__ = ["count_kept", "find_reuse"]

ON_HEAD = 0.05  # [m] a head of the plan this near to one in the ground is that one
ON_PLACE = 0.5  # [m] the same of a valve place: a box is that wide
ALONG = 0.02  # [m] to each side of a pipe in the ground where a pipe of the plan counts as that pipe
LEAST_RUN = 0.1  # [m] along it; less is a crossing

Kind = Literal["head", "valve place", "pipe"]
Placed = Head | ValvePlace


def find_reuse(
    yard: Yard, *, heads: Sequence[Head], places: Sequence[ValvePlace], pipes: Sequence[Pipe]
) -> tuple[ExistingUse, ...]:
    """Say of each thing in the ground whether the plan keeps it, as which of its parts, and what giving it up costs."""
    found: list[ExistingUse] = []
    taken: set[str] = set()
    for head in yard.existing.heads:
        alike = [h for h in heads if h.head_class == head.head_class and h.id not in taken]
        use = _nearest(head.at, alike, ON_HEAD)
        taken |= set(use)
        found.append(_use("head", head.id, use, head.moving_cost))
    for place in yard.existing.places:
        use = _nearest(place.at, [p for p in places if p.id not in taken], ON_PLACE)
        taken |= set(use)
        found.append(_use("valve place", place.id, use, place.moving_cost))
    for pipe in yard.existing.pipes:
        along = _along(pipe, pipes)
        length = min(sum(along.values()), LineString(pipe.path).length)
        found.append(_use("pipe", pipe.id, tuple(along), pipe.moving_cost, length))
    return tuple(found)


def count_kept(
    tally: Tally, yard: Yard, reuse: Sequence[ExistingUse], heads: Sequence[Head], boxes: Mapping[str, str]
) -> None:
    """Mark in a tally what the plan keeps as already there; boxes, of the plan's valve places, are the old ones."""
    kept = {use.id: use for use in reuse if use.kept_as}
    by_id = {head.id: head for head in heads}
    stands = [(head, by_id[kept[head.id].kept_as[0]]) for head in yard.existing.heads if head.id in kept]
    owned: Counter[str] = Counter()
    for old, new in stands:
        owned[f"head {new.head_class}"] += 1
        owned[f"swing joint {swing_joint(new.head_class)}"] += 1
        if old.nozzle == new.nozzle:
            owned[f"nozzle {new.nozzle}"] += 1
    stay = [kept[old.id].kept_as[0] for old in yard.existing.places if old.id in kept]
    owned.update(boxes[place] for place in stay if place in boxes)
    for part, number in owned.items():
        tally.own([part], number)
    for pipe in yard.existing.pipes:
        if pipe.id in kept:
            tally.own_metres(f"pipe {pipe.material} {pipe.size}", kept[pipe.id].length, kept[pipe.id].kept_as)


def _use(kind: Kind, name: str, kept_as: Sequence[str], moving: float, length: float = 0.0) -> ExistingUse:
    return ExistingUse(
        kind=kind, id=name, kept_as=tuple(kept_as), length=length, moving_cost=0.0 if kept_as else moving
    )


def _nearest(at: Point, parts: Sequence[Placed], within: float) -> tuple[str, ...]:
    """Id of the part nearest to a point, if one is near enough."""
    near = min(parts, key=lambda part: (math.dist(part.at, at), part.id), default=None)
    return (near.id,) if near is not None and math.dist(near.at, at) <= within else ()


def _along(old: ExistingPipe, pipes: Sequence[Pipe]) -> dict[str, float]:
    """Metres that each pipe of the plan, of the same kind, runs along a pipe in the ground."""
    beside = LineString(old.path).buffer(ALONG, cap_style="flat")
    alike = [p for p in pipes if (p.role, p.material, p.size) == (old.role, old.material, old.size)]
    metres = {p.id: float(shapely.intersection(beside, LineString(p.path)).length) for p in alike if p.length > 0}
    return {name: length for name, length in metres.items() if length > LEAST_RUN}
