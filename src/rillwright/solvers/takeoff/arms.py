"""What meets at each node: ends of pipe with their directions, and the threads of what stands there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from rillwright.model.fittings import Body, Mouth, Piece, nominal
from rillwright.model.plan import Pipe
from rillwright.solvers.joining import FLEXIBLE, Arm, Assembly, Joiner, bends_for

__all__ = ["Group", "Meeting", "Slot", "join_meeting", "pipe_arm", "thread_arm", "turn"]

Group = tuple[str, str | None]  # node and zone; zone None for the main
Role = Literal["pipe", "feed", "valve", "head", "other"]


@dataclass(slots=True)
class Slot:
    """One thing that ends at a node."""

    arm: Arm
    role: Role
    pipe: Pipe | None = None
    direction: float = 0.0  # [rad] in which a pipe leaves
    at_start: bool = True  # which end of the pipe it is


@dataclass(slots=True)
class Meeting:
    """All that is joined at one node of one net."""

    where: str  # as the parts list names it
    why: str
    row: Piece  # pipe between tees that stand in a row
    slots: list[Slot]


@lru_cache(maxsize=4096)
def pipe_arm(piece: Piece, via: tuple[Body, ...] = ()) -> Arm:
    """The end of a pipe behind some elbows."""
    return Arm.of_pipe(*piece, via)


@lru_cache(maxsize=4096)
def thread_arm(mouth: Mouth, what: str, via: tuple[Body, ...] = ()) -> Arm:
    """The thread of a device behind some elbows or a union."""
    return Arm.of_thread(mouth, what, via)


def turn(first: float, second: float) -> float:
    """Angle [°] by which the way turns from one direction out of a node into another; 0 straight on."""
    return abs(180.0 - abs(math.degrees(math.remainder(second - first, math.tau))))


def join_meeting(meeting: Meeting, joiner: Joiner) -> tuple[Assembly, tuple[Slot, ...]]:
    """Join what meets at a node, the cheapest way that its directions allow. Returns the slots in the order joined."""
    pipes = [slot for slot in meeting.slots if slot.pipe is not None]
    if pipes:
        largest = max(pipes, key=lambda slot: nominal(slot.arm.ends[0].size))
        meeting.row = largest.arm.pipe or meeting.row
    tries = [_order(meeting.slots)]
    if len(meeting.slots) == 3 and len(pipes) == 2:
        tries.append(_round_a_corner(meeting.slots, pipes))
    found = []
    for slots, vias, straight in tries:
        arms = tuple(_behind(slot.arm, via) for slot, via in zip(slots, vias, strict=True))
        found.append((joiner.join(arms, row=meeting.row, straight=straight), slots))
    return min(found, key=lambda each: (len(each[0].open), each[0].price))


def _order(slots: Sequence[Slot]) -> tuple[tuple[Slot, ...], tuple[tuple[Body, ...], ...], bool]:
    """What comes in, what goes on, what branches off; the elbows before each; whether the first two lie in line."""
    first, second = _through(slots)
    branches = [slot for slot in slots if slot is not first and slot is not second]
    via: tuple[Body, ...] = ()
    straight = False
    if first.pipe is not None and second.pipe is not None:
        via = _elbows(turn(first.direction, second.direction), first, second)
        straight = not via and first.at_start != second.at_start
    elif second.role == "head" and not branches:
        via = ("elbow",)  # a swing joint stands square to its line
    elif second.role == "valve" and "elbow" not in second.arm.via and any(s.role == "valve" for s in branches):
        via = ("elbow",)  # the last valve of a manifold stands beside the others
    aside = [() if slot.pipe is None else _elbows(_askew(first, second, slot), slot) for slot in branches]
    return (first, second, *branches), ((), via, *aside), straight


def _round_a_corner(
    slots: Sequence[Slot], pipes: Sequence[Slot]
) -> tuple[tuple[Slot, ...], tuple[tuple[Body, ...], ...], bool]:
    """The second pipe leaves by the branch, and what else is there sits on the run."""
    other = next(slot for slot in slots if slot.pipe is None)
    corner = abs(90.0 - turn(pipes[0].direction, pipes[1].direction))
    return (pipes[0], other, pipes[1]), ((), (), _elbows(corner, pipes[1])), False


def _through(slots: Sequence[Slot]) -> tuple[Slot, Slot]:
    """The two that the row runs between: the straightest pair of pipes, else a pipe and what feeds or ends it."""
    pipes = [slot for slot in slots if slot.pipe is not None]
    pairs = [(turn(a.direction, b.direction), i, j) for i, a in enumerate(pipes) for j, b in enumerate(pipes[:i])]
    if pairs:
        _, i, j = min(pairs)
        return pipes[j], pipes[i]
    feed = next((slot for slot in slots if slot.role == "feed"), None)
    rest = [slot for slot in slots if slot is not feed]
    if feed is not None:
        return feed, pipes[0] if pipes else rest[-1]
    first = pipes[0] if pipes else slots[0]
    rest = [slot for slot in slots if slot is not first]
    order = ("other", "valve", "head", "feed", "pipe") if first.pipe else ("valve", "other", "head", "feed", "pipe")
    ends = [slot for role in order for slot in rest if slot.role == role]
    last = ends[0]
    return first, max((slot for slot in rest if slot.role == last.role), key=rest.index)


def _askew(first: Slot, second: Slot, branch: Slot) -> float:
    """Angle [°] by which a pipe that branches off is out of square with the row; 0 where the row has no direction."""
    row = first if first.pipe is not None else second
    return 0.0 if row.pipe is None else abs(90.0 - turn(row.direction, branch.direction))


def _elbows(angle: float, *slots: Slot) -> tuple[Body, ...]:
    flexible = any(slot.pipe is not None and slot.pipe.material in FLEXIBLE for slot in slots)
    return bends_for(angle, flexible=flexible)


def _behind(arm: Arm, via: tuple[Body, ...]) -> Arm:
    """An arm with some elbows more, next to the node."""
    if not via:
        return arm
    if arm.pipe is not None:
        return pipe_arm(arm.pipe, (*via, *arm.via))
    return thread_arm(arm.ends[0], arm.what, (*via, *arm.via))
