"""Compiled table of the cheapest trees of heads by load, for the pricing of whole zones; `trees` says what it does."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["cheapest_trees"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@njit(cache=True)
def _branched(least, held, source, total, own, arc, cost, reached, steps):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """A cost at a total load, or that of what a table holds and a branch, which costs less as its load rises."""
    most = held[total - 1, source]  # of the rest: what it holds at less costs no less
    for step in range(steps - 1, -1, -1):
        branch = arc + cost[step]
        if branch >= least - most:
            break
        rest = total - reached[step]
        if rest >= own:
            least = min(least, held[rest, source] + branch)
    return least


@njit(cache=True)
def cheapest_trees(
    arc: Floats,
    load: Whole,
    near: Whole,
    back: Whole,
    far: Whole,
    steps: Whole,
    leaf: Whole,
    table: Floats,
    cost: Floats,
    reached: Whole,
    number: Whole,
) -> None:
    """Fill in place `table` (heads, loads, tables): the least cost [currency] at a load or less.

    Also, by head and slot (heads, slots + 1, n), how the cost of a tree falls as its load rises: `cost` at the loads
    `reached`, `number` steps of it; a head that adds nothing is no branch.
    Parameters: arc [currency] from head to head; load of each head; near (heads, slots), the heads that it branches to
    once at most, far those that it may branch to at will, -1 for none; back, the slot of a head among those near to its
    branch, or the last for none; steps (n, 3) of table, slot of the branch, and table made; leaf, the table of each
    slot, in which that one is left out.
    """
    heads, most, whole = len(load), table.shape[1] - 1, len(leaf) - 1
    table[:], number[:] = np.inf, 0
    lowest = np.full(number.shape, np.inf)  # of each slot's trees so far
    for total in range(1, most + 1):
        for head in range(heads):
            own, held = load[head], table[head]
            if total < own:
                continue
            least, before = 0.0 if total == own else held[total - 1, 0], held[total - 1]
            for other in far[head]:
                c = arc[head, other]
                if other >= 0 and c + lowest[other, whole] < least - before[0]:
                    trees = cost[other, whole], reached[other, whole], number[other, whole]
                    least = _branched(least, held, 0, total, own, c, *trees)
            held[total, 0] = least
            for source, slot, target in steps:
                other, k, least = near[head, slot], back[head, slot], held[total, source]
                c = arc[head, other]
                if other >= 0 and c + lowest[other, k] < least - before[source]:
                    trees = cost[other, k], reached[other, k], number[other, k]
                    least = _branched(least, held, source, total, own, c, *trees)
                held[total, target] = least
            for slot in range(len(leaf)):
                found = held[total, leaf[slot]]
                if found < lowest[head, slot]:
                    n = number[head, slot]
                    cost[head, slot, n], reached[head, slot, n] = found, total
                    number[head, slot], lowest[head, slot] = n + 1, found
