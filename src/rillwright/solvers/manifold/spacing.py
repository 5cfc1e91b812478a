"""Where valves stand along a header: the least length at which each can be taken out.

Statement. Valves 1..n, each of a kind, stand on a header in some order, each on one of its sides. Their places x, whole
marks of a tape, must satisfy

    x[j] - x[i] >= stub(i, j)    for neighbours along the header: half of each fitting, and the shortest pipe
    x[j] - x[i] >= turns(i, j)   for i before j on one side: one comes out while the other stays
    minimise x[n] - x[1].

Method. For a given order and sides the earliest places are the longest paths of these differences, which are built up
valve by valve; orders and sides are searched by a dynamic programme over (how many of each kind still wait, the last
kind on each side), whose labels (last place on either side) are kept while no other is at least as early on both.
Exact, since `turns` obeys the triangle inequality, so that only the last valve on each side matters. No randomness, no
limit of time: labels grow with the kinds, of which a place has one to three.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeVar

__all__ = ["Standing", "space_out"]

K = TypeVar("K")
Side = Literal[1, -1]
_NOWHERE = -(10**9)
_NONE = -1  # no kind

_Key = tuple[tuple[int, ...], int, int]  # number of each kind that waits, the last kind, the last on the other side


@dataclass(frozen=True, slots=True)
class Standing:
    """Where one valve stands."""

    number: int  # of the valve, as it was given
    at: int  # [marks] from the first
    side: Side


@dataclass(frozen=True, slots=True)
class _Label:
    here: int  # [marks] of the last valve
    other: int  # [marks] of the last valve on the other side
    path: tuple[tuple[int, int, Side], ...]  # kind, place, side


def space_out(
    kinds: Sequence[K],
    *,
    turns: Callable[[K, K], int],
    stub: Callable[[K, K, bool], int],
    both: bool,
    free: bool,
) -> tuple[Standing, ...]:
    """Stand valves on a header.

    Parameters: kinds, of the valves in the order in which they are wired (hashable; equal ones are alike); turns,
    marks from axis to axis that two on one side need; stub, marks that two neighbours need, the second of which is the
    last of all when the third argument says so; both, whether they may stand on both sides; free, whether their order
    may change.
    Returns: the valves along the header. The span is the least there is.

    >>> def least(free):
    ...     found = space_out("aba", turns=lambda p, q: 5 + (p != q), stub=lambda p, q, last: 4, both=False, free=free)
    ...     return [standing.at for standing in found]
    >>> least(False), least(True)
    ([0, 6, 12], [0, 5, 11])
    """
    names = list(dict.fromkeys(kinds))
    numbered = [names.index(kind) for kind in kinds]
    need = [[turns(one, two) for two in names] for one in names]
    apart = [[[stub(one, two, last) for last in (False, True)] for two in names] for one in names]
    count = tuple(numbered.count(kind) for kind in range(len(names)))
    labels: dict[_Key, list[_Label]] = {}
    for kind in range(len(names)) if free else numbered[:1]:
        labels[_less(count, kind), kind, _NONE] = [_Label(0, _NOWHERE, ((kind, 0, 1),))]
    for step in range(1, len(kinds)):
        grown: dict[_Key, list[_Label]] = {}
        for (left, last, across), found in labels.items():
            for kind in [k for k, number in enumerate(left) if number] if free else [numbered[step]]:
                rest, between = _less(left, kind), apart[last][kind][step == len(kinds) - 1]
                for label in found:
                    at = label.here + max(need[last][kind], between)
                    _keep(grown, (rest, kind, across), _on(label, kind, at, other=label.other, cross=False))
                    if both:
                        opposite = label.other + need[across][kind] if across != _NONE else _NOWHERE
                        at = max(label.here + between, opposite)
                        _keep(grown, (rest, kind, last), _on(label, kind, at, other=label.here, cross=True))
        labels = grown
    best = min((label for found in labels.values() for label in found), key=lambda label: label.here)
    return _named(best, numbered)


def _less(count: tuple[int, ...], kind: int) -> tuple[int, ...]:
    return tuple(number - (each == kind) for each, number in enumerate(count))


def _on(label: _Label, kind: int, at: int, *, other: int, cross: bool) -> _Label:
    """Stand one more valve, on the side of the last one or across from it."""
    side = label.path[-1][2]
    opposite: Side = 1 if side == -1 else -1
    return _Label(at, other, (*label.path, (kind, at, opposite if cross else side)))


def _keep(labels: dict[_Key, list[_Label]], key: _Key, new: _Label) -> None:
    held = labels.setdefault(key, [])
    if not any(old.here <= new.here and old.other <= new.other for old in held):
        held[:] = [old for old in held if not (new.here <= old.here and new.other <= old.other)] + [new]


def _named(label: _Label, numbered: Sequence[int]) -> tuple[Standing, ...]:
    """Give each place a valve of its kind, in the order in which they are wired."""
    waiting = {kind: [n for n, each in enumerate(numbered) if each == kind] for kind in set(numbered)}
    return tuple(Standing(waiting[kind].pop(0), at, side) for kind, at, side in label.path)
