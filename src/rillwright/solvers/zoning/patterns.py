"""Lower bound on the number of zones from the pattern programme (Gilmore and Gomory's, for zones).

The linear programme over all feasible zones is solved by column generation. A zone's last head in the order of
falling capacity sets its capacity, so one knapsack table over the heads in that order prices every zone. Flows are
rounded down and capacities up in the table: the priced zones include all true ones and the bound stays valid.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["kinds_of", "pattern_bound"]

Pattern = tuple[int, ...]

_GRAIN = 8_000  # steps of the knapsack table for the greatest capacity
_ROUNDS = 120


def kinds_of(task: ZoneTask, heads: Sequence[int]) -> list[list[int]]:
    """Heads that are equal in capacity, flow and legal places, in order of falling capacity."""
    kinds: dict[tuple[int, int, int], list[int]] = {}
    for h in sorted(heads):
        kinds.setdefault((-task.capacity[h], task.flow[h], task.may[h]), []).append(h)
    return [kinds[key] for key in sorted(kinds)]


def pattern_bound(
    task: ZoneTask, kinds: Sequence[Sequence[int]], *, start: Sequence[Pattern], watch: Watch
) -> tuple[int, list[Pattern]]:
    """Least number of zones by the rounded linear bound, and the truly feasible patterns met on the way.

    Parameters: kinds of one group's heads, from `kinds_of`; start, patterns of zones that hold every head. A
    pattern is the sorted kinds of a zone's heads, each as often as it occurs.
    The bound of a round is the sum of the duals over the greatest price (Farley), so stopping early stays valid.
    """
    demand = np.array([len(members) for members in kinds], dtype=float)
    classes = _classes(task, kinds)
    columns: dict[Pattern, None] = dict.fromkeys([*start, *((k,) for k in range(len(kinds)))])
    best = 0.0
    for _ in range(_ROUNDS):
        matrix = np.array([np.bincount(pattern, minlength=len(kinds)) for pattern in columns], dtype=float).T
        master = linprog(np.ones(len(columns)), A_ub=-matrix, b_ub=-demand, method="highs")
        if master.status != 0:
            break
        duals = np.maximum(-np.asarray(master.ineqlin.marginals), 0.0)
        price = {p: float(duals[list(p)].sum()) for members in classes for p in _price(task, kinds, members, duals)}
        best = max(best, float(duals @ demand) / max([1.0, *price.values()]))
        fresh = sorted((p for p in price if price[p] > 1 + 1e-7 and p not in columns), key=lambda p: (-price[p], p))
        settled = math.ceil(best - 1e-6) >= math.ceil(master.fun - 1e-6)
        if not fresh or settled or watch.over():
            break
        columns.update(dict.fromkeys(fresh[:40]))
    return max(1, math.ceil(best - 1e-6)), [p for p in columns if _true(task, kinds, p)]


def _true(task: ZoneTask, kinds: Sequence[Sequence[int]], pattern: Pattern) -> bool:
    return task.fits([kinds[k][0] for k in pattern])


def _classes(task: ZoneTask, kinds: Sequence[Sequence[int]]) -> list[list[int]]:
    """Greatest sets of kinds that one place may serve."""
    sets = {tuple(k for k, members in enumerate(kinds) if row[members[0]]) for row in task.legal}
    return [list(s) for s in sorted(sets) if s and not any(set(s) < set(other) for other in sets)]


def _price(
    task: ZoneTask, kinds: Sequence[Sequence[int]], members: list[int], duals: NDArray[np.float64]
) -> list[Pattern]:
    """Best pattern for each head as the one that sets the capacity; members in order of falling capacity."""
    items = [(k, kinds[k][0]) for k in members for _ in kinds[k]]
    unit = max(task.capacity[h] for _, h in items) / _GRAIN
    worth = np.zeros(_GRAIN + 2)
    steps: list[tuple[int, int, NDArray[np.bool_]]] = []  # kind, size, whether it is taken at each room
    patterns = []
    for k, h in items:
        size, value = math.floor(task.flow[h] / unit), float(duals[k])
        room = math.ceil(task.capacity[h] / unit) - size
        if room >= 0 and float(worth[room]) + value > 1 + 1e-9:
            patterns.append(_trace(steps, k, room))
        with_it = np.full_like(worth, -1.0)
        with_it[size:] = worth[: len(worth) - size] + value
        steps.append((k, size, with_it > worth + 1e-12))
        worth = np.maximum(worth, with_it)
    return patterns


def _trace(steps: list[tuple[int, int, NDArray[np.bool_]]], last: int, room: int) -> Pattern:
    pattern = [last]
    for k, size, taken in reversed(steps):
        if taken[room]:
            pattern.append(k)
            room -= size
    return tuple(sorted(pattern))
