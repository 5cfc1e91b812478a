"""Rules for what is in the ground of a yard part-built."""

import math
from collections.abc import Iterator

from shapely.geometry import LineString, Point

from rillwright.data.tables import read_table
from rillwright.errors import InputError, Problem
from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue
from rillwright.model.site import Yard
from rillwright.physics import units

__all__ = ["check_nozzles", "existing_ids", "existing_problems", "off_ground"]

BESIDE_LAWN = 0.5  # [m] that a head may stand off its lawn, by the error of a tape
OFF_GROUND = 3.0  # [m] that pipes and valve places may be off the drawn ground
APART = 0.05  # [m] heads in the ground nearer than this are one, written twice


def existing_ids(yard: Yard) -> list[tuple[str, str]]:
    """Path and id of everything in the ground."""
    existing = yard.existing
    named = [(f"existing.heads[{i}].id", head.id) for i, head in enumerate(existing.heads)]
    named += [(f"existing.pipes[{i}].id", pipe.id) for i, pipe in enumerate(existing.pipes)]
    return [*named, *((f"existing.places[{i}].id", place.id) for i, place in enumerate(existing.places))]


def existing_problems(yard: Yard, ground: Ground) -> Iterator[Problem]:
    """Heads stand on lawns, pipes have a size that is made and a path, nothing lies off the yard."""
    yield from _heads(yard, ground)
    yield from _pipes(yard, ground)
    for i, place in enumerate(yard.existing.places):
        yield from off_ground(yard, ground, Point(place.at), f"existing.places[{i}].at", "the valve place")


def check_nozzles(yard: Yard, catalogue: Catalogue) -> None:
    """Check that the nozzles named for heads in the ground are in the charts and can be set as said.

    Errors: InputError that names the head and what to do.
    """
    for head in yard.existing.heads:
        if head.nozzle is None:
            continue
        known = sorted(name for name, n in catalogue.nozzles.items() if n.head_class == head.head_class)
        if head.nozzle not in known:
            raise InputError(
                f"Head '{head.id}' in the ground: no {head.head_class} nozzle '{head.nozzle}' is in the charts. "
                f"Use one of: {', '.join(known)}; add its chart; or leave 'nozzle' out when it may be changed."
            )
        nozzle = catalogue.nozzles[head.nozzle]
        if not nozzle.can_throw(head.arc):
            raise InputError(
                f"Head '{head.id}' in the ground: nozzle '{head.nozzle}' cannot throw {head.arc:g}°; it comes with "
                f"{nozzle.arcs_told}. Mend 'arc', or leave 'nozzle' out when it may be changed."
            )


def _heads(yard: Yard, ground: Ground) -> Iterator[Problem]:
    heads = yard.existing.heads
    for i, head in enumerate(heads):
        path, at = f"existing.heads[{i}]", Point(head.at)
        off = min((shape.distance(at) for shape in ground.lawns.values()), default=math.inf)
        if off > BESIDE_LAWN:
            said = f"head '{head.id}' at {_spot(yard, head.at)} is {_length(yard, off)} off the nearest lawn"
            yield Problem(f"{path}.at", said, f"Put it on a lawn, or at most {_length(yard, BESIDE_LAWN)} beside one")
        for other in heads[:i]:
            if math.dist(head.at, other.at) < APART:
                yield Problem(f"{path}.at", f"'{head.id}' stands where '{other.id}' does", "Write each head once")
        if (head.arc == 0) != (head.head_class == "strip"):
            do = "Write 0 for a strip pattern" if head.head_class == "strip" else "Write the arc it waters in degrees"
            yield Problem(f"{path}.arc", f"{head.arc:g} for a {head.head_class} head", do)
        if head.radius == 0:
            yield Problem(f"{path}.radius", "0", "Write how far it throws, or leave it out when nobody measured")


def _pipes(yard: Yard, ground: Ground) -> Iterator[Problem]:
    made: dict[str, list[str]] = {}
    for row in read_table("pipes"):
        made.setdefault(row.text("material"), []).append(row.text("trade_size"))
    for i, pipe in enumerate(yard.existing.pipes):
        path = f"existing.pipes[{i}]"
        if pipe.size not in made[pipe.material]:
            do = f"{pipe.material} comes in: {', '.join(made[pipe.material])}"
            yield Problem(f"{path}.size", f"'{pipe.size}' is not in the table of pipe sizes", do)
        for j, (one, two) in enumerate(zip(pipe.path, pipe.path[1:], strict=False)):
            if one == two:
                yield Problem(f"{path}.path[{j}]", f"is the same point as {path}.path[{j + 1}]", "Write it once")
                break
        else:
            yield from off_ground(yard, ground, LineString(pipe.path), f"{path}.path", "the pipe")


def off_ground(yard: Yard, ground: Ground, shape: Point | LineString, path: str, what: str) -> Iterator[Problem]:
    """A pipe or place lies on the drawn ground or near it."""
    off = shape.hausdorff_distance(shape.intersection(ground.site)) if shape.intersects(ground.site) else math.inf
    if isinstance(shape, Point) or off == math.inf:
        off = ground.site.distance(shape)
    if off > OFF_GROUND:
        said = f"{what} lies {_length(yard, off)} off the drawn ground"
        yield Problem(path, said, f"Put it on the drawn ground, or at most {_length(yard, OFF_GROUND)} off it")


def _length(yard: Yard, value: float) -> str:
    return units.show(value, "length", yard.units)


def _spot(yard: Yard, at: tuple[float, float]) -> str:
    across, up = (units.to_system(v, "length", yard.units) for v in at)
    return f"({across:.6g}, {up:.6g})"
