"""Rules for what the user holds fast."""

import math
from collections.abc import Iterator

from shapely.geometry import Point

from rillwright.errors import Problem
from rillwright.model.ground import Ground
from rillwright.model.site import Yard
from rillwright.physics import units

__all__ = ["SAME_PLACE", "pin_problems"]

OFF_LAWN = 0.01  # [m] by the rounding of what was drawn
SAME_PLACE = 0.3  # [m] two heads nearer than this are one


def pin_problems(yard: Yard, ground: Ground) -> Iterator[Problem]:
    """Held heads stand on lawns, apart, one class to a lawn; held zones are of held heads of one class."""
    yield from _heads(yard, ground)
    yield from _zones(yard)


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
