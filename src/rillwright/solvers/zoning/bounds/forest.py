"""Lower bound on the cost of zones for yards too big for the linear programme: a shortest tree with K branches.

Join the water entry to every head by its cheapest trench from a lawful place. Zones' trees and their trenches from the
places are then one tree over entry and heads in which K trenches leave the entry, and each carries at least 1/K of its
place's opening. So for any price m, the shortest tree with m added to the trenches from the entry, less m K, bounds
every plan; the best m is searched. Capacities are ignored, so the bound is weaker than the programme's.
Source: Held and Karp, The traveling-salesman problem and minimum spanning trees, Operations Research 18 (1970), for
the same device; from memory.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["forest_bound"]

_STEPS = 30


def forest_bound(task: ZoneTask, counts: Sequence[int]) -> float:
    """Bound [currency] on openings and trenches, with counts[g] zones in group g."""
    share = task.opening[:, None] / sum(counts)
    link = np.where(task.legal, share + task.trench_cost * task.reach, np.inf).min(axis=0)
    return sum(
        _branches(task.trench_cost * task.metres(members, members), link[list(members)], count)
        for members, count in zip(task.groups, counts, strict=True)
    )


def _branches(cost: NDArray[np.float64], link: NDArray[np.float64], count: int) -> float:
    """Best bound of one group over the price on trenches from the entry; the slope is branches less count."""
    low, high = -float(link.max()), float(cost[0].max())
    best = 0.0
    for _ in range(_STEPS):
        middle = (low + high) / 2
        length, branches = _shortest(cost, link + middle)
        best = max(best, length - middle * count)
        low, high = (middle, high) if branches > count else (low, middle)
    return best


def _shortest(cost: NDArray[np.float64], link: NDArray[np.float64]) -> tuple[float, int]:
    """Cost of the shortest tree over entry and heads, and how many trenches leave the entry (Prim)."""
    gap, rooted = link.copy(), np.ones(len(link), dtype=bool)
    total, branches = 0.0, 0
    for _ in range(len(link)):
        h = int(np.argmin(gap))
        total += float(gap[h])
        branches += bool(rooted[h])
        gap[h] = link[h] = np.inf
        row = cost[h]
        nearer = (row < gap) & np.isfinite(gap)
        gap[nearer], rooted[nearer] = row[nearer], False
    return total, branches
