"""Compiled kernels of the choice of zones for lines: a start, and descent by moving one line or swapping two."""

import numpy as np
from numba import njit

from rillwright.solvers.spanning import spanning_length

__all__ = ["by_themselves", "descend"]

_LEAST = 1e-6  # [m] gain of a change


@njit(cache=True)
def _tree(zone, owner, ends, numbers, between, chosen):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Length of the tree over a zone's ends and its lines, which come after all ends."""
    number = numbers[zone]
    chosen[:number] = ends[zone, :number]
    first = len(between) - len(owner)
    for line in range(len(owner)):
        if owner[line] == zone:
            chosen[number] = first + line
            number += 1
    return spanning_length(chosen, number, between, np.inf)


@njit(cache=True)
def _pair(one, two, owner, ends, numbers, between, chosen):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    return _tree(one, owner, ends, numbers, between, chosen) + _tree(two, owner, ends, numbers, between, chosen)


@njit(cache=True)
def by_themselves(known, ends, numbers, between):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Owner of each line as if no other open one were there; known, the same with -1 where it is open."""
    chosen = np.empty(len(between), dtype=np.int64)
    owner, found = known.copy(), known.copy()
    for line in range(len(known)):
        least = np.inf
        for zone in range(len(numbers) if known[line] < 0 else 0):
            before = _tree(zone, owner, ends, numbers, between, chosen)
            owner[line] = zone
            more = _tree(zone, owner, ends, numbers, between, chosen) - before
            owner[line] = -1
            if more < least - _LEAST:
                least, found[line] = more, zone
    return found


@njit(cache=True)
def descend(owner, free, ends, numbers, between):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Change the owners of lines, in place, by the move or swap that saves most, until none saves.

    Parameters: owner, zone of each line; free, whether it may change; ends, points of each zone, and their numbers;
    between [m], straight lengths between all points and, after them, all lines.
    """
    chosen = np.empty(len(between), dtype=np.int64)
    length = np.empty(len(numbers))
    for zone in range(len(numbers)):
        length[zone] = _tree(zone, owner, ends, numbers, between, chosen)
    while True:
        most, line, zone, other = _LEAST, -1, -1, -1
        for a in range(len(owner)):
            if not free[a]:
                continue
            old = owner[a]
            for new in range(len(numbers)):  # a to another zone
                if new != old:
                    owner[a] = new
                    gain = length[old] + length[new] - _pair(old, new, owner, ends, numbers, between, chosen)
                    if gain > most:
                        most, line, zone, other = gain, a, new, -1
            for b in range(a):  # a and b change places
                new = owner[b]
                if free[b] and new != old:
                    owner[a], owner[b] = new, old
                    gain = length[old] + length[new] - _pair(old, new, owner, ends, numbers, between, chosen)
                    owner[b] = new
                    if gain > most:
                        most, line, zone, other = gain, a, new, b
            owner[a] = old
        if line < 0:
            return
        old = owner[line]
        owner[line] = zone
        if other >= 0:
            owner[other] = old
        for changed in (old, zone):
            length[changed] = _tree(changed, owner, ends, numbers, between, chosen)
