"""Pipe by the metre, the fittings that its geometry calls for, and what its joints use up.

A fitting has the size of the largest pipe it joins; each smaller pipe there takes one reducer. Angles, stick lengths
and joints to a can are judgement, no source.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from functools import cache
from itertools import pairwise
from typing import Protocol

from rillwright.model.plan import Pipe, Point, ValvePlace
from rillwright.model.site import PipeMaterial
from rillwright.physics.units import parse
from rillwright.solvers.takeoff.tally import Tally

__all__ = ["FedZone", "count_joints", "count_pipes", "nominal", "size_at"]

FLEXIBLE: tuple[PipeMaterial, ...] = ("PE", "PEX")
RIGID_BEND = 15.0  # [°] rigid pipe springs round less
FLEXIBLE_BEND = 75.0  # [°] pipe from a coil sweeps round less
STICK = 6.096  # [m] 20 ft, rigid pipe
COIL = 30.48  # [m] 100 ft, pipe from a coil
JOINTS_TO_A_CAN = 60
THREADS_TO_A_ROLL = 30


class FedZone(Protocol):
    """What the take-off reads of a zone: a plan's zone has it, and so has a draft's."""

    @property
    def id(self) -> str:
        """Its name."""

    @property
    def heads(self) -> tuple[str, ...]:
        """Ids of its heads."""

    @property
    def place(self) -> str:
        """Id of its valve place."""

    @property
    def flow(self) -> float:
        """What it draws [m³/s]."""


Group = tuple[str, str | None]  # node and zone; zone None for the main


@cache
def nominal(size: str) -> float:
    """Give the nominal width [m] of a trade size."""
    return parse(size, "bore")


def size_at(pipes: Sequence[Pipe], node: str, zone: str | None) -> Pipe | None:
    """Find the largest pipe of the main (zone None) or of a zone at a node."""
    here = [pipe for pipe in pipes if pipe.zone == zone and node in (pipe.start, pipe.end)]
    return max(here, key=lambda pipe: nominal(pipe.size), default=None)


def count_pipes(tally: Tally, *, pipes: Sequence[Pipe], zones: Sequence[FedZone], places: Sequence[ValvePlace]) -> None:
    """Count pipe, tees, elbows, couplings and reducers."""
    for part in dict.fromkeys(_part("pipe", pipe) for pipe in pipes):
        for role in ("main", "lateral"):
            runs = [pipe for pipe in pipes if _part("pipe", pipe) == part and pipe.role == role]
            runs_word = f"in {len(runs)} run{'s' if len(runs) != 1 else ''}"
            tally.metres(part, sum(pipe.length for pipe in runs), f"of {role} {runs_word}")
    for pipe in pipes:
        tally.pieces(_part("elbow", pipe), "at bends along runs", [pipe.id], each=_bends(pipe))
        tally.pieces(_part("coupling", pipe), "between sticks or coils", [pipe.id], each=_couplings(pipe))
    groups: dict[Group, list[Pipe]] = {}
    for pipe in pipes:
        for node in (pipe.start, pipe.end):
            groups.setdefault((node, pipe.zone), []).append(pipe)
    outlets = _outlets(pipes, zones, places)
    for group, joined in groups.items():
        _count_node(tally, group, joined, outlets[group])


def count_joints(
    tally: Tally, *, pipes: Sequence[Pipe], sockets: Mapping[tuple[PipeMaterial, str], int], threads: int
) -> None:
    """Count what the joints use up: clamps or rings, glue and primer, solder, thread tape.

    Every pipe end, every bend or coupling along a run (two each) and every one of the other sockets is a joint.
    """
    joints: Counter[tuple[PipeMaterial, str]] = Counter(sockets)
    for pipe in pipes:
        joints[pipe.material, pipe.size] += 2 + 2 * (_bends(pipe) + _couplings(pipe))
    glued = sum(number for (material, _), number in joints.items() if material.startswith("PVC"))
    soldered = sum(number for (material, _), number in joints.items() if material.startswith("copper"))
    for (material, size), number in joints.items():
        if material in FLEXIBLE:
            tally.bulk(f"{'clamp' if material == 'PE' else 'crimp ring'} {size}", number, "one for each joint")
    share = f"for %d joints, {JOINTS_TO_A_CAN} to one"
    for part in ("primer", "glue"):
        note = "; the vapour harms and burns: work in open air, no flame"
        tally.bulk(part, math.ceil(glued / JOINTS_TO_A_CAN), share % glued + note)
    note = "; open flame: clear the ground, keep water at hand"
    tally.bulk("solder and flux", math.ceil(soldered / JOINTS_TO_A_CAN), share % soldered + note)
    tally.bulk(
        "thread tape", math.ceil(threads / THREADS_TO_A_ROLL), f"for {threads} threads, {THREADS_TO_A_ROLL} to a roll"
    )


def _part(fitting: str, pipe: Pipe) -> str:
    return f"{fitting} {pipe.material} {pipe.size}"


def _outlets(pipes: Sequence[Pipe], zones: Sequence[FedZone], places: Sequence[ValvePlace]) -> Counter[Group]:
    """How many ways out a node has that are no pipe: swing joints, valves, and the supply at the main's beginning."""
    found: Counter[Group] = Counter()
    for zone in zones:
        found.update((head, zone.id) for head in zone.heads)
        found[zone.place, zone.id] += 1
    for place in places:
        found[place.id, None] += len(place.zones)
    mains = [pipe for pipe in pipes if pipe.role == "main"]
    found.update((node, None) for node in {pipe.start for pipe in mains} - {pipe.end for pipe in mains})
    return found


def _count_node(tally: Tally, group: Group, joined: list[Pipe], outlets: int) -> None:
    node, zone = group
    largest = max(joined, key=lambda pipe: nominal(pipe.size))
    arms = len(joined) + outlets
    whose = "at branches of laterals" if zone is not None else "at branches of the main"
    if zone is None and outlets > 1:
        whose = "in manifolds, where valves stand together"
    tally.pieces(_part("tee", largest), whose, [node], each=max(arms - 2, 0))
    runs_on = len(joined) == 2 and (outlets == 0 or (zone is not None and any(pipe.end == node for pipe in joined)))
    if runs_on and _turn(joined, node) >= _sharp(largest):
        tally.pieces(_part("elbow", largest), "at bends between runs", [node])
    elif runs_on and outlets == 0:
        tally.pieces(_part("coupling", largest), "between runs", [node])
    if len(joined) == 1 and outlets == 1 and zone is not None and node == joined[0].end:
        tally.pieces(_part("elbow", largest), "under last heads of lines", [node])
    smaller = sum(nominal(pipe.size) < nominal(largest.size) for pipe in joined)
    tally.pieces(_part("reducer", largest), "where pipe sizes differ", [node], each=smaller)


def _sharp(pipe: Pipe) -> float:
    return FLEXIBLE_BEND if pipe.material in FLEXIBLE else RIGID_BEND


def _bends(pipe: Pipe) -> int:
    """Elbows along a run."""
    return sum(_angle(*corner) >= _sharp(pipe) for corner in zip(pipe.path, pipe.path[1:], pipe.path[2:], strict=False))


def _couplings(pipe: Pipe) -> int:
    piece = COIL if pipe.material in FLEXIBLE else STICK
    return max(math.ceil(pipe.length / piece - 1e-9) - 1, 0)


def _turn(joined: Sequence[Pipe], node: str) -> float:
    """Angle [°] by which two runs that meet at a node turn."""
    first, second = ([*pipe.path] if pipe.start == node else [*reversed(pipe.path)] for pipe in joined)
    return _angle(first[1], first[0], second[1])


def _angle(before: Point, here: Point, after: Point) -> float:
    """Angle [°] by which the way turns at a corner; 0 straight on."""
    (ax, ay), (bx, by) = ((end[0] - start[0], end[1] - start[1]) for start, end in pairwise((before, here, after)))
    return abs(math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))
