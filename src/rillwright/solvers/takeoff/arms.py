"""What meets at each node: ends of pipe with their directions, and the threads of what stands there."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations
from typing import Literal

from rillwright.model.fittings import Body, Mouth, Piece, nominal
from rillwright.model.plan import Pipe
from rillwright.solvers.joining import FLEXIBLE, Arm, Assembly, Joiner, bends_for
from rillwright.solvers.takeoff.facing import turn

__all__ = ["Group", "Meeting", "Slot", "join_meeting", "pipe_arm", "thread_arm"]

Group = tuple[str, str | None]  # node and zone; zone None for the main
Role = Literal["pipe", "feed", "valve", "head", "other"]


@dataclass(slots=True)
class Slot:
    """One thing that ends at a node."""

    arm: Arm
    role: Role
    pipe: Pipe | None = None
    direction: float | None = None  # [rad] in which a pipe, or the manifold behind an opening, leaves; None: any
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


def join_meeting(meeting: Meeting, joiner: Joiner) -> tuple[Assembly, tuple[Slot, ...]]:
    """Join what meets at a node, the cheapest way that its directions allow. Returns the slots in the order joined."""
    pipes = [slot for slot in meeting.slots if slot.pipe is not None]
    if pipes:
        largest = max(pipes, key=lambda slot: nominal(slot.arm.ends[0].size))
        meeting.row = largest.arm.pipe or meeting.row
    tries = [_order(meeting.slots, pair) for pair in _rows(meeting.slots)]
    if len(meeting.slots) == 3 and len(_directed(meeting.slots)) == 2:
        tries.append(_round_a_corner(meeting.slots))
    found = []
    for slots, vias, straight in tries:
        arms = tuple(_behind(slot.arm, via) for slot, via in zip(slots, vias, strict=True))
        found.append((joiner.join(arms, row=meeting.row, straight=straight), slots))
    return min(found, key=lambda each: (len(each[0].open), each[0].price))


def _directed(slots: Sequence[Slot]) -> list[Slot]:
    """Those that the plan gives a direction."""
    return [slot for slot in slots if slot.direction is not None]


def _angle(one: Slot, other: Slot) -> float:
    """Angle [°] by which the way turns from one to the other; 0 where either may take any direction."""
    known = one.direction is not None and other.direction is not None
    return turn(one.direction, other.direction) if known else 0.0  # type: ignore[arg-type]


def _order(
    slots: Sequence[Slot], row: tuple[Slot, Slot]
) -> tuple[tuple[Slot, ...], tuple[tuple[Body, ...], ...], bool]:
    """What comes in, what goes on, what branches off; the elbows before each; whether the first two lie in line."""
    first, second = row
    branches = [slot for slot in slots if slot is not first and slot is not second]
    via = _elbows(_angle(first, second), first, second)
    if second.role == "head" and not branches:
        via = ("elbow",)  # a swing joint stands square to its line
    piped = first.pipe is not None and second.pipe is not None
    straight = piped and not via and first.at_start != second.at_start
    aside = [_elbows(_askew(first, second, slot), slot) for slot in branches]
    return (first, second, *branches), ((), via, *aside), straight


def _round_a_corner(slots: Sequence[Slot]) -> tuple[tuple[Slot, ...], tuple[tuple[Body, ...], ...], bool]:
    """The second of two with a direction leaves by the branch, and what else is there sits on the run."""
    one, two = _directed(slots)
    other = next(slot for slot in slots if slot.direction is None)
    return (one, other, two), ((), (), _elbows(abs(90.0 - _angle(one, two)), two)), False


def _rows(slots: Sequence[Slot]) -> list[tuple[Slot, Slot]]:
    """The two that the row may run between: the straightest pair, of three any; else a pipe and what feeds it."""
    pairs = list(combinations(_directed(slots), 2))
    if pairs:
        return pairs if len(slots) == len(pairs) == 3 else [min(pairs, key=lambda pair: _angle(*pair))]
    pipes = [slot for slot in slots if slot.pipe is not None]
    feed = next((slot for slot in slots if slot.role == "feed"), None)
    if feed is not None:
        rest = [slot for slot in slots if slot is not feed]
        return [(feed, pipes[0] if pipes else rest[-1])]
    first = pipes[0] if pipes else slots[0]
    rest = [slot for slot in slots if slot is not first]
    order = ("other", "valve", "head", "feed", "pipe") if first.pipe else ("valve", "other", "head", "feed", "pipe")
    ends = [slot for role in order for slot in rest if slot.role == role]
    last = ends[0]
    return [(first, max((slot for slot in rest if slot.role == last.role), key=rest.index))]


def _askew(first: Slot, second: Slot, branch: Slot) -> float:
    """Angle [°] by which one that branches off is out of square with the row; 0 where either may take any direction."""
    row = first if first.direction is not None else second
    return 0.0 if row.direction is None or branch.direction is None else abs(90.0 - _angle(row, branch))


def _elbows(angle: float, *slots: Slot) -> tuple[Body, ...]:
    flexible = any(slot.arm.pipe is not None and slot.arm.pipe[0] in FLEXIBLE for slot in slots)
    return bends_for(angle, flexible=flexible)


@lru_cache(maxsize=4096)
def _behind(arm: Arm, via: tuple[Body, ...]) -> Arm:
    """An arm with some elbows more, next to the node."""
    return replace(arm, via=(*via, *arm.via)) if via else arm
