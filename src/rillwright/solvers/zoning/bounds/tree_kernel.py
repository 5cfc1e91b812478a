"""Compiled table of the cheapest trees of heads by load, for the pricing of whole zones; `trees` says what it does.

Costs fall in steps as loads rise, few beside the loads there may be. So loads are gone through from the least, and each
step, as it is met, is put together with those met before it. Of the branches that a head may have at will only the
cheapest by load are: they make a table of their own.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["cheapest_trees"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Numbers = NDArray[np.int32]


@njit(cache=True)
def _add_branches(held, came, running, total, cost, arc, branches, ways, falls, number):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Offer a table what a new step of a table makes with each branch, the cheapest first; ways, how these come."""
    for step in range(number - 1, -1, -1):
        more = falls[step]
        offered = cost + arc + branches[more]
        if offered >= running:
            break
        if total + more < len(held) and offered < held[total + more]:
            held[total + more], came[total + more] = offered, ways[more]


@njit(cache=True)
def _be_branch(held, came, running, total, branch, way, others, falls, number):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Offer a table what a new branch makes with each step of a table, the cheapest first; way, how that comes."""
    for step in range(number - 1, -1, -1):
        rest = falls[step]
        offered = others[rest] + branch
        if offered >= running:
            break
        if total + rest < len(held) and offered < held[total + rest]:
            held[total + rest], came[total + rest] = offered, way


@njit(cache=True)
def cheapest_trees(
    arc: Floats,
    load: Whole,
    near: Whole,
    slot: Whole,
    steps: Whole,
    leaf: Whole,
    table: Floats,
    came: Numbers,
    falls: Numbers,
    number: Whole,
) -> None:
    """Fill in place `table` (heads, tables + 1, loads): the least cost [currency] at a load or less.

    Also, of each cost, how it `came`: the branch's head times the loads there are, plus its load; -1 when it is that of
    the table it is made of. And by head and table the loads `falls` at which it falls, `number` of them. The last table
    of a head is no tree: it holds at its falls the cheapest of the branches that the head may have at will.
    Parameters: arc [currency] from head to head, infinite for none; load of each head; near (heads, slots), the heads
    that it branches to once at most, -1 for none; slot (heads, heads), that of a near head, or the last for one that is
    not, to which it may branch at will; steps (n, 3) of table, slot of the branch, and table made; leaf, the table of
    each slot, in which that one is left out.
    """
    (heads, slots), far, size = near.shape, table.shape[1] - 1, table.shape[2]
    table[:], came[:], number[:] = np.inf, -1, 0
    ways = np.arange(heads * size, dtype=np.int32).reshape(heads, size)
    for total in range(1, size):
        for head in range(heads):
            if total < load[head]:
                continue
            held = table[head]
            if total == load[head]:
                held[0, total] = 0.0
            for made in range(far):
                if held[made, total - 1] <= held[made, total]:
                    held[made, total], came[head, made, total] = held[made, total - 1], came[head, made, total - 1]
            for source, _, target in steps:
                if held[source, total] <= held[target, total]:
                    held[target, total], came[head, target, total] = held[source, total], -1
            for made in range(far):
                cost = held[made, total]
                if cost >= held[made, total - 1]:
                    continue
                falls[head, made, number[head, made]] = total
                number[head, made] += 1
                if made == 0:
                    branches = held[far], came[head, far], falls[head, far], number[head, far]
                    _add_branches(held[0], came[head, 0], held[0, total], total, cost, 0.0, *branches)
                for source, at, target in steps:
                    other = near[head, at]
                    if source == made and other >= 0:
                        k = leaf[slot[other, head]]
                        branches = table[other, k], ways[other], falls[other, k], number[other, k]
                        running = held[target, total]
                        _add_branches(
                            held[target], came[head, target], running, total, cost, arc[head, other], *branches
                        )
                for other in range(heads):
                    back, way = slot[other, head], ways[head, total]
                    if (
                        other == head
                        or made != leaf[slot[head, other] if back < slots else slots]
                        or arc[other, head] == np.inf
                    ):
                        continue
                    into, branch = table[other], arc[other, head] + cost
                    if back < slots:
                        for source, at, target in steps:
                            if at == back:
                                known = into[source], falls[other, source], number[other, source]
                                running = into[target, total - 1]
                                _be_branch(into[target], came[other, target], running, total, branch, way, *known)
                        continue
                    last = number[other, far] - 1
                    if last >= 0 and branch >= into[far, falls[other, far, last]]:
                        continue
                    if last < 0 or falls[other, far, last] < total:
                        falls[other, far, last + 1] = total
                        number[other, far] += 1
                    into[far, total], came[other, far, total] = branch, way
                    known = into[0], falls[other, 0], number[other, 0]
                    _be_branch(into[0], came[other, 0], into[0, total - 1], total, branch, way, *known)
