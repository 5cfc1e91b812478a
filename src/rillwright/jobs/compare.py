"""Two plans side by side: what changes from the one to the other."""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from rillwright.model.findings import Finding
from rillwright.model.plan import Head, Plan, Zone

__all__ = ["Comparison", "Figure", "HeadChange", "PartChange", "ZoneChange", "compare"]

_SAME_SPOT = 0.05  # [m]
_NEAR = 3.0  # [m] a head farther off is another head
_SAME_ANGLE = 1.0  # [°]


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of both plans; None where a plan has none."""

    name: str
    key: str  # of its working in each plan; empty when it has none
    dimension: str  # key of units.DIMENSIONS
    before: float | None  # SI
    after: float | None  # SI


@dataclass(frozen=True, slots=True)
class HeadChange:
    """One head of either plan; heads are told by where they stand, since each plan numbers its own."""

    kind: Literal["added", "removed", "moved", "set otherwise", "same"]
    before: str | None  # id in the first plan
    after: str | None  # id in the second
    distance: float  # [m] that it moved
    what: tuple[str, ...]  # of 'nozzle', 'arc', 'zone mates', which differ


@dataclass(frozen=True, slots=True)
class ZoneChange:
    """One zone of either plan, paired with the one that waters most of the same heads."""

    before: str | None
    after: str | None
    shared: int  # heads in both
    left: tuple[str, ...]  # ids in the first plan
    joined: tuple[str, ...]  # ids in the second


@dataclass(frozen=True, slots=True)
class PartChange:
    """One line of the parts list."""

    id: str
    part: str
    unit: str
    before: float  # quantity
    after: float
    cost: float  # [currency] more in the second plan


@dataclass(frozen=True, slots=True)
class Comparison:
    """What changes from one plan to another."""

    figures: tuple[Figure, ...]
    heads: tuple[HeadChange, ...]
    zones: tuple[ZoneChange, ...]
    parts: tuple[PartChange, ...]  # those that differ
    new: tuple[Finding, ...]
    gone: tuple[Finding, ...]


def compare(before: Plan, after: Plan) -> Comparison:
    """Compare two plans, of one yard or of two."""
    pairs = _paired_heads(before, after)
    mates = {old.id: new.id for old, new in pairs}
    return Comparison(
        figures=tuple(_figures(before, after)),
        heads=_heads(before, after, pairs),
        zones=_zones(before, after, mates),
        parts=_parts(before, after),
        new=tuple(f for f in after.findings if f not in before.findings),
        gone=tuple(f for f in before.findings if f not in after.findings),
    )


def _figures(before: Plan, after: Plan) -> Iterable[Figure]:
    def figure(name: str, key: str, dimension: str, of: Callable[[Plan], float | None]) -> Figure:
        return Figure(name, key, dimension, of(before), of(after))

    yield figure("heads", "", "count", lambda plan: len(plan.heads))
    yield figure("zones", "", "count", lambda plan: len(plan.zones))
    yield figure("valve places", "", "count", lambda plan: len(plan.places))
    yield figure("cost", "cost.total", "money", lambda plan: plan.cost.total if plan.cost else None)
    yield figure("parts", "cost.parts", "money", lambda plan: plan.cost.parts if plan.cost else None)
    yield figure("trenches", "cost.trenches", "money", lambda plan: plan.cost.trenches if plan.cost else None)
    yield figure("trench length", "", "length", lambda plan: sum(t.length for t in plan.trenches))
    yield figure("pipe length", "", "length", lambda plan: sum(p.length for p in plan.pipes))
    yield figure("safe flow", "supply.safe-flow", "flow", lambda plan: plan.supply.safe_flow)
    for lawn in dict.fromkeys(lawn.id for plan in (before, after) for lawn in plan.lawns):
        du = {id(plan): next((x.evenness.du for x in plan.lawns if x.id == lawn), None) for plan in (before, after)}
        yield Figure(f"{lawn}: DU", f"lawn.{lawn}.du", "share", du[id(before)], du[id(after)])


def _paired_heads(before: Plan, after: Plan) -> list[tuple[Head, Head]]:
    """Pair heads of one class on one lawn, the nearest first."""
    near = sorted(
        (math.dist(old.at, new.at), i, j)
        for i, old in enumerate(before.heads)
        for j, new in enumerate(after.heads)
        if (old.lawn, old.head_class) == (new.lawn, new.head_class) and math.dist(old.at, new.at) <= _NEAR
    )
    pairs: list[tuple[Head, Head]] = []
    taken: tuple[set[int], set[int]] = set(), set()
    for _, i, j in near:
        if i not in taken[0] and j not in taken[1]:
            taken[0].add(i)
            taken[1].add(j)
            pairs.append((before.heads[i], after.heads[j]))
    return pairs


def _heads(before: Plan, after: Plan, pairs: list[tuple[Head, Head]]) -> tuple[HeadChange, ...]:
    old_of, new_of = {old.id for old, _ in pairs}, {new.id for _, new in pairs}
    mates = {old.id: new.id for old, new in pairs}
    zone_before, zone_after = _zone_mates(before), _zone_mates(after)
    out: list[HeadChange] = []
    for old, new in pairs:
        what = ["nozzle"] if old.nozzle != new.nozzle else []
        if _turned(old.arc_start, new.arc_start) or _turned(old.arc, new.arc):
            what.append("arc")
        if {mates.get(name, name) for name in zone_before.get(old.id, ())} != set(zone_after.get(new.id, ())):
            what.append("zone mates")
        gap = math.dist(old.at, new.at)
        kind: Literal["moved", "set otherwise", "same"] = (
            "moved" if gap > _SAME_SPOT else "set otherwise" if set(what) - {"zone mates"} else "same"
        )
        out.append(HeadChange(kind, old.id, new.id, gap, tuple(what)))
    out += [HeadChange("removed", head.id, None, 0.0, ()) for head in before.heads if head.id not in old_of]
    out += [HeadChange("added", None, head.id, 0.0, ()) for head in after.heads if head.id not in new_of]
    return tuple(out)


def _turned(one: float, two: float) -> bool:
    gap = abs(one - two) % 360
    return min(gap, 360 - gap) > _SAME_ANGLE


def _zone_mates(plan: Plan) -> dict[str, tuple[str, ...]]:
    return {head: zone.heads for zone in plan.zones for head in zone.heads}


def _zones(before: Plan, after: Plan, mates: Mapping[str, str]) -> tuple[ZoneChange, ...]:
    def shared(old: Zone, new: Zone) -> int:
        return len({mates.get(head) for head in old.heads} & set(new.heads))

    ranked = sorted(
        ((-shared(old, new), i, j) for i, old in enumerate(before.zones) for j, new in enumerate(after.zones))
    )
    out: list[ZoneChange] = []
    taken: tuple[set[int], set[int]] = set(), set()
    for count, i, j in ranked:
        if count == 0 or i in taken[0] or j in taken[1]:
            continue
        taken[0].add(i)
        taken[1].add(j)
        old, new = before.zones[i], after.zones[j]
        left = tuple(head for head in old.heads if mates.get(head) not in new.heads)
        stay = {mates.get(head) for head in old.heads}
        out.append(ZoneChange(old.id, new.id, -count, left, tuple(head for head in new.heads if head not in stay)))
    out += [ZoneChange(z.id, None, 0, z.heads, ()) for i, z in enumerate(before.zones) if i not in taken[0]]
    out += [ZoneChange(None, z.id, 0, (), z.heads) for j, z in enumerate(after.zones) if j not in taken[1]]
    return tuple(out)


def _parts(before: Plan, after: Plan) -> tuple[PartChange, ...]:
    lines = [{line.id: line for line in plan.parts} for plan in (before, after)]
    out: list[PartChange] = []
    for name in dict.fromkeys(name for own in lines for name in own):
        old, new = (own.get(name) for own in lines)
        shown = new or old
        assert shown is not None
        was, now = (0.0 if line is None else line.quantity for line in (old, new))
        paid = [0.0 if line is None else max(0.0, line.quantity - line.owned) * line.price for line in (old, new)]
        if was != now or paid[0] != paid[1]:
            out.append(PartChange(name, shown.part, shown.unit, was, now, paid[1] - paid[0]))
    return tuple(out)
