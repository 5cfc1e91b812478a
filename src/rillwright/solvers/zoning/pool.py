"""Zones met in a search, with the length of each one's tree and its trench from each place."""

from collections.abc import Callable, Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["Pool", "choose_places", "other_places", "spread_tree"]

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
    total, every = _totals(pool, zones), range(len(pool.task.opening))
    chosen = [min(every, key=lambda p: (total([p]), p))]
    while True:
        best = min(_changes(chosen, every), key=total, default=chosen)
        if total(best) >= total(chosen) - 1e-9:
            return sorted(chosen)
        chosen = best


def other_places(
    pool: Pool, zones: Sequence[Zone], places: Sequence[int], tried: Collection[tuple[int, ...]]
) -> list[int]:
    """Cheapest legal places for given zones that differ by one from some, and are not tried yet; none when all are."""
    total = _totals(pool, zones)
    changed = (sorted(change) for change in _changes(places, range(len(pool.task.opening))))
    best = min((change for change in changed if tuple(change) not in tried), key=total, default=[])
    return best if best and total(best) < _ILLEGAL else []


def _totals(pool: Pool, zones: Sequence[Zone]) -> Callable[[Sequence[int]], float]:
    """Cost of opening some places and of the trenches from them to given zones."""
    task = pool.task
    cost = np.minimum(task.trench_cost * np.array([pool.links(zone) for zone in zones]), _ILLEGAL).T.copy()

    def total(places: Sequence[int]) -> float:
        chosen = np.array(places)
        return float(task.opening[chosen].sum() + cost[chosen].min(axis=0).sum())

    return total


def _changes(chosen: Sequence[int], every: Sequence[int]) -> list[list[int]]:
    """Places with one more, one less, or another in place of one."""
    changes = [[*chosen, p] for p in every if p not in chosen]
    changes += [[q for q in chosen if q != p] for p in chosen if len(chosen) > 1]
    return changes + [[*(q for q in chosen if q != p), r] for p in chosen for r in every if r not in chosen]
