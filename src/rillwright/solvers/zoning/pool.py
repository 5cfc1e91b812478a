"""Zones met in a search, with the length of each one's tree and its trench from each place."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["Pool", "choose_places", "spread_tree"]

Zone = tuple[int, ...]

_ILLEGAL = 1e12  # [currency] stands for a place that may not serve a zone


class Pool:
    """Every feasible zone met, with the length of its tree [m]."""

    def __init__(self, task: ZoneTask) -> None:
        self.task = task
        self.tree: dict[Zone, float] = {}
        self._links: dict[Zone, NDArray[np.float64]] = {}

    def length(self, zone: Zone) -> float:
        """Length [m] of the shortest tree over the zone's heads."""
        known = self.tree.get(zone)
        if known is None:
            known = self.tree[zone] = spread_tree(self.task.apart(zone))
        return known

    def links(self, zone: Zone) -> NDArray[np.float64]:
        """Trench [m] from each place to the nearest head of the zone; infinite where the place is not legal."""
        known = self._links.get(zone)
        if known is None:
            heads = list(zone)
            nearest, legal = self.task.reach[:, heads].min(axis=1), self.task.legal[:, heads].all(axis=1)
            known = self._links[zone] = np.where(legal, nearest, np.inf)
        return known

    def cost(self, zone: Zone, places: Sequence[int] | NDArray[np.int64]) -> float:
        """Trench cost of a zone served from the nearest legal place of some; infinite when none is legal."""
        return self.task.trench_cost * (self.length(zone) + float(self.links(zone)[places].min()))


def spread_tree(between: NDArray[np.float64]) -> float:
    """Length [m] of the shortest tree that joins heads, from the trench [m] of each to each (Prim)."""
    apart = between.tolist()
    left = list(range(1, len(apart)))
    gap = [apart[0][h] for h in left]
    total = 0.0
    while left:
        i = min(range(len(left)), key=gap.__getitem__)
        total += gap.pop(i)
        row = apart[left.pop(i)]
        gap = [min(g, row[h]) for g, h in zip(gap, left, strict=True)]
    return total


def choose_places(pool: Pool, zones: Sequence[Zone]) -> list[int]:
    """Places to open for given zones: add, drop or swap one place as long as the cost falls."""
    task = pool.task
    cost = np.minimum(task.trench_cost * np.array([pool.links(zone) for zone in zones]), _ILLEGAL).T.copy()
    opening = task.opening

    def total(places: Sequence[int]) -> float:
        chosen = np.array(places)
        return float(opening[chosen].sum() + cost[chosen].min(axis=0).sum())

    every = range(len(opening))
    chosen = [min(every, key=lambda p: (total([p]), p))]
    while True:
        moves = [[*chosen, p] for p in every if p not in chosen]
        moves += [[q for q in chosen if q != p] for p in chosen if len(chosen) > 1]
        moves += [[*(q for q in chosen if q != p), r] for p in chosen for r in every if r not in chosen]
        best = min(moves, key=total, default=chosen)
        if total(best) >= total(chosen) - 1e-9:
            return sorted(chosen)
        chosen = best
