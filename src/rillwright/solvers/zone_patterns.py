"""Lower bound on the number of zones from the pattern programme (Gilmore and Gomory's, for zones).

The linear programme over all feasible zones is solved by column generation. A zone's last head in the order of
falling capacity sets its capacity, so one knapsack table over the heads in that order prices every zone. Flows are
rounded down and capacities up in the table: the priced zones include all true ones and the bound stays valid.
"""

import math
import time
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from rillwright.solvers.zone_task import ZoneTask

__all__ = ["pattern_bound"]

Zone = tuple[int, ...]

_GRAIN = 8_000  # steps of the knapsack table for the greatest capacity
_ROUNDS = 120


def pattern_bound(
    task: ZoneTask, heads: Sequence[int], *, start: Sequence[Zone], deadline: float
) -> tuple[int, list[Zone]]:
    """Least number of zones by the rounded linear bound, and the truly feasible zones met on the way.

    Parameters: heads of one group; start, zones that hold every head; deadline by time.monotonic [s].
    The bound of a round is the sum of the duals over the greatest price (Farley), so stopping early stays valid.
    """
    order = sorted(heads, key=lambda h: (-task.capacity[h], task.flow[h], h))
    row = {h: i for i, h in enumerate(order)}
    classes = _classes(task, order)
    columns: dict[Zone, None] = dict.fromkeys([*start, *((h,) for h in order)])
    best = 0.0
    for _ in range(_ROUNDS):
        matrix = np.zeros((len(order), len(columns)))
        for j, zone in enumerate(columns):
            matrix[[row[h] for h in zone], j] = 1.0
        master = linprog(np.ones(len(columns)), A_ub=-matrix, b_ub=-np.ones(len(order)), method="highs")
        if master.status != 0:
            break
        duals = np.maximum(-np.asarray(master.ineqlin.marginals), 0.0)
        priced = [zone for members in classes for zone in _price(task, members, duals, row)]
        price = {zone: float(sum(duals[row[h]] for h in zone)) for zone in priced}
        top = max([1.0, *price.values()])
        best = max(best, float(duals.sum()) / top)
        fresh = sorted((z for z in price if price[z] > 1 + 1e-7 and z not in columns), key=lambda z: (-price[z], z))
        settled = math.ceil(best - 1e-6) >= math.ceil(master.fun - 1e-6)
        if not fresh or settled or time.monotonic() > deadline:
            break
        columns.update(dict.fromkeys(fresh[:40]))
    return max(1, math.ceil(best - 1e-6)), [zone for zone in columns if task.fits(zone)]


def _classes(task: ZoneTask, order: list[int]) -> list[list[int]]:
    """Greatest sets of heads that one place may serve."""
    sets = {tuple(h for h in order if task.legal[p, h]) for p in range(task.legal.shape[0])}
    return [list(s) for s in sorted(sets) if s and not any(set(s) < set(other) for other in sets)]


def _price(task: ZoneTask, members: list[int], duals: NDArray[np.float64], row: dict[int, int]) -> list[Zone]:
    """Best zone for each head as the one that sets the capacity; members in order of falling capacity."""
    unit = max(task.capacity[h] for h in members) / _GRAIN
    sizes = [math.floor(task.flow[h] / unit) for h in members]
    worth = np.zeros(_GRAIN + 2)
    took: list[NDArray[np.bool_]] = []
    zones = []
    for k, h in enumerate(members):
        room = math.ceil(task.capacity[h] / unit) - sizes[k]
        value = float(duals[row[h]])
        if room >= 0 and float(worth[room]) + value > 1 + 1e-9:
            zones.append(_trace(members, sizes, took, k, room))
        with_it = np.full_like(worth, -1.0)
        with_it[sizes[k] :] = worth[: len(worth) - sizes[k]] + value
        took.append(with_it > worth + 1e-12)
        worth = np.maximum(worth, with_it)
    return zones


def _trace(members: list[int], sizes: list[int], took: list[NDArray[np.bool_]], last: int, room: int) -> Zone:
    zone = [members[last]]
    for k in range(last - 1, -1, -1):
        if took[k][room]:
            zone.append(members[k])
            room -= sizes[k]
    return tuple(sorted(zone))
