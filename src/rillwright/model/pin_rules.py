"""Rules for what the user holds fast."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from shapely.geometry import LineString, Point, Polygon

from rillwright.data.tables import read_table
from rillwright.errors import Problem
from rillwright.model.existing_rules import off_ground
from rillwright.model.ground import Ground
from rillwright.model.site import PinnedPipe, Yard
from rillwright.physics import units

__all__ = ["SAME_PLACE", "outdoors", "pin_problems"]

OFF_LAWN = 0.01  # [m] by the rounding of what was drawn
SAME_PLACE = 0.3  # [m] two heads nearer than this are one
SAME_POINT = 0.005  # [m]
ALONG_WALL = 0.02  # [m] a pipe this near inside an outline runs along it


def pin_problems(yard: Yard, ground: Ground) -> Iterator[Problem]:
    """Held heads stand on lawns, apart, one class to a lawn; held zones are of one class; pipes lie clear."""
    yield from _heads(yard, ground)
    yield from _zones(yard)
    yield from _pipes(yard, ground)


def _heads(yard: Yard, ground: Ground) -> Iterator[Problem]:
    pins, seen = yard.pins.heads, set()
    classes: dict[str, tuple[str, str]] = {}  # by lawn: class, and the pin that has it
    for i, pin in enumerate(pins):
        path = f"pins.heads[{i}]"
        if pin.id in seen:
            yield Problem(f"{path}.id", f"'{pin.id}' comes twice", "Give each pin an id of its own")
        seen.add(pin.id)
        if (pin.arc_start is None) != (pin.arc is None):
            yield Problem(path, "half an aim", "Give both 'arc_start' and 'arc', or neither")
        elif pin.arc is not None and (pin.arc == 0) != (pin.head_class == "strip"):
            yield Problem(f"{path}.arc", f"{pin.arc:g} for a {pin.head_class} head", "Write 0 for strip heads alone")
        off, lawn = min(
            ((shape.distance(Point(pin.at)), name) for name, shape in ground.lawns.items()), default=(1.0, "")
        )
        if off > OFF_LAWN:
            said = f"pinned head '{pin.id}' is {units.show(off, 'length', yard.units)} off the nearest lawn"
            yield Problem(f"{path}.at", said, "Pin it on a lawn")
        known = classes.setdefault(lawn, (pin.head_class, pin.id))
        if known[0] != pin.head_class:
            said = f"{pin.head_class} on '{lawn}', where '{known[1]}' is {known[0]}"
            yield Problem(f"{path}.head_class", said, "A lawn has heads of one class: pin one class, or draw two lawns")
        for other in pins[:i]:
            if math.dist(pin.at, other.at) < SAME_PLACE:
                yield Problem(f"{path}.at", f"'{pin.id}' stands where '{other.id}' does", "Pin one head there")


def _zones(yard: Yard) -> Iterator[Problem]:
    heads = {pin.id: pin for pin in yard.pins.heads}
    taken: dict[str, str] = {}
    for i, zone in enumerate(yard.pins.zones):
        path = f"pins.zones[{i}]"
        for j, name in enumerate(zone.heads):
            if name not in heads:
                yield Problem(f"{path}.heads[{j}]", f"'{name}' is no pinned head", "Pin the head first, or take it out")
            if taken.setdefault(name, zone.id) != zone.id:
                yield Problem(f"{path}.heads[{j}]", f"'{name}' is in '{taken[name]}' too", "Keep it in one zone")
        if len({heads[name].head_class for name in zone.heads if name in heads}) > 1:
            yield Problem(f"{path}.heads", "heads of several classes", "A zone has heads of one class: take some out")


def _pipes(yard: Yard, ground: Ground) -> Iterator[Problem]:
    heads = {pin.id: pin for pin in yard.pins.heads}
    in_zone = {name: zone.id for zone in yard.pins.zones for name in zone.heads}
    seen: set[str] = set()
    for i, pin in enumerate(yard.pins.pipes):
        path = f"pins.pipes[{i}]"
        if pin.id in seen:
            yield Problem(f"{path}.id", f"'{pin.id}' comes twice", "Give each pin an id of its own")
        seen.add(pin.id)
        yield from _line(yard, ground, pin, f"{path}.path")
        if pin.role == "main" and pin.heads:
            yield Problem(f"{path}.heads", "heads of a main", "Leave them out: a main feeds valve places")
        for j, name in enumerate(pin.heads):
            if name not in heads:
                yield Problem(f"{path}.heads[{j}]", f"'{name}' is no pinned head", "Pin the head first, or take it out")
        if len({heads[name].head_class for name in pin.heads if name in heads}) > 1:
            yield Problem(f"{path}.heads", "heads of several classes", "A zone has heads of one class: take some out")
        zones = sorted({in_zone[name] for name in pin.heads if name in in_zone})
        if len(zones) > 1:
            yield Problem(f"{path}.heads", f"heads of '{zones[0]}' and '{zones[1]}'", "A lateral is of one zone")
    yield from _sizes(yard)


def _line(yard: Yard, ground: Ground, pin: PinnedPipe, path: str) -> Iterator[Problem]:
    """A pinned pipe is a plain line over ground where a trench may go."""
    for j, (one, two) in enumerate(pairwise(pin.path)):
        if math.dist(one, two) < SAME_POINT:
            yield Problem(f"{path}[{j}]", f"is the same point as {path}[{j + 1}]", "Write it once")
            return
    line = LineString(pin.path)
    if not line.is_simple:
        yield Problem(path, f"pinned pipe '{pin.id}' crosses itself", "Draw it without a loop, or as two pipes")
        return
    yield from off_ground(yard, ground, line, path, f"pinned pipe '{pin.id}'")
    blocked = {kind: ground.kinds[kind] for kind in ("building", "water", "keep-out")} | {"tree trunk": ground.trunks}
    if outdoors(pin.path, ground) is not None:
        blocked.pop("building")
    for kind, shape in blocked.items():
        inside = line.intersection(shape.buffer(-ALONG_WALL)).length
        if inside > 0:
            said = f"pinned pipe '{pin.id}' crosses {_named(yard, kind, line)} for {_length(inside, yard)}"
            yield Problem(path, said, "Lead it round, as a trench has to go")


def _named(yard: Yard, kind: str, line: LineString) -> str:
    hit = [a.id for a in yard.areas if a.kind == kind and Polygon(a.outline, a.holes).intersects(line)]
    hit += [
        tree.id for tree in yard.trees if kind == "tree trunk" and Point(tree.at).distance(line) < tree.trunk_radius
    ]
    return f"{kind} '{hit[-1]}'" if hit else kind


def _sizes(yard: Yard) -> Iterator[Problem]:
    """Sizes of pinned pipes are made; all of one role in one material that the yard allows."""
    made: dict[str, list[str]] = {}
    for row in read_table("pipes"):
        made.setdefault(row.text("material"), []).append(row.text("trade_size"))
    for role, materials in (("main", yard.pipes.main), ("lateral", yard.pipes.laterals)):
        left = list(materials)
        for i, pin in enumerate(yard.pins.pipes):
            if pin.role != role or (pin.size is None and pin.least_size is None):
                continue
            field = "size" if pin.size is not None else "least_size"
            if pin.size is not None and pin.least_size is not None:
                yield Problem(f"pins.pipes[{i}]", "both 'size' and 'least_size'", "Give one of them")
            size = pin.size or pin.least_size
            able = [m for m in left if size in made[m]]
            if not able:
                comes = "; ".join(f"{m} in {', '.join(made[m])}" for m in left)
                said = f"{left[0] if len(left) == 1 else 'no one material of the ' + role} comes in '{size}'"
                do = f"Pipes of one role are of one material: {comes}. Take one of these, or allow another material"
                yield Problem(f"pins.pipes[{i}].{field}", said, do)
            left = able or left


def outdoors(path: Sequence[tuple[float, float]], ground: Ground) -> LineString | None:
    """The part of a pipe that lies in the ground: all of it, or what is left when one end is inside a building.

    None when more than one part is left, or none.
    """
    line = LineString(path)
    house = ground.kinds["building"].buffer(-ALONG_WALL)
    if not line.intersects(house):
        return line
    left = line.difference(house)
    ends = [Point(path[0]), Point(path[-1])]
    one_inside = sum(house.intersects(end) for end in ends) == 1
    return left if isinstance(left, LineString) and not left.is_empty and one_inside else None


def _length(value: float, yard: Yard) -> str:
    return units.show(value, "length", yard.units)
