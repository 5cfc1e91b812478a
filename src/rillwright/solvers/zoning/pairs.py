"""Two neighbouring zones split anew in every way their limits allow, until no pair gets cheaper."""

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.choices import choices
from rillwright.solvers.zoning.pool import Pool

__all__ = ["split_pairs"]

Zone = tuple[int, ...]

_FREE = 11  # heads that a split may move between two zones; the rest stay where they are
_TRIED = 16  # splits of a pair whose true cost is taken
_NEAR = 4  # neighbours of a zone with which it is split anew
_PASSES = 8


def split_pairs(pool: Pool, zones: list[Zone], places: list[int], xy: NDArray[np.float64], watch: Watch) -> list[Zone]:
    """Split neighbours anew, nearest pairs first, until no pair gets cheaper at the open places."""
    zones = list(zones)
    home = {h: g for g, members in enumerate(pool.task.groups) for h in members}
    tried: set[tuple[Zone, Zone]] = set()
    for _ in range(_PASSES):
        changed = False
        for a, b in _neighbours(zones, home, xy):
            pair = (zones[a], zones[b])
            if pair in tried or watch.over():
                continue
            tried.add(pair)
            better = _split(pool, *pair, places, xy)
            if better is not None:
                zones[a], zones[b] = better
                changed = True
        if not changed:
            break
    return zones


def _neighbours(zones: list[Zone], home: dict[int, int], xy: NDArray[np.float64]) -> list[tuple[int, int]]:
    """Pairs of zones of one group, each with its few nearest by distance of centres."""
    centre = np.array([xy[list(zone)].mean(axis=0) for zone in zones])
    pairs: dict[tuple[int, int], float] = {}
    for a, zone in enumerate(zones):
        same = [b for b in range(len(zones)) if b != a and home[zones[b][0]] == home[zone[0]]]
        gaps = sorted((float(np.linalg.norm(centre[a] - centre[b])), b) for b in same)
        pairs.update({(min(a, b), max(a, b)): gap for gap, b in gaps[:_NEAR]})
    return sorted(pairs, key=lambda pair: (pairs[pair], pair))


def _split(pool: Pool, a: Zone, b: Zone, places: list[int], xy: NDArray[np.float64]) -> tuple[Zone, Zone] | None:
    """Best new split of two zones, or None when none is cheaper."""
    free, fixed_a, fixed_b = _contested(a, b, xy)
    sides = [choices(pool.task, free, fixed, places, xy) for fixed in (fixed_a, fixed_b)]
    every = len(sides[0][0]) - 1
    swap = np.arange(every, -1, -1)  # the other side's choice is the complement
    allowed = np.flatnonzero(sides[0][0] & sides[1][0][swap])
    if len(allowed) == 0:
        return None
    spread = sides[0][1][allowed] + sides[1][1][swap][allowed]
    ranked = allowed[np.argsort(spread, kind="stable")[:_TRIED]]
    opened = np.array(places)
    best, least = None, pool.cost(a, opened) + pool.cost(b, opened) - 1e-9
    for choice in ranked.tolist():
        left = tuple(sorted([*fixed_a, *(h for k, h in enumerate(free) if choice >> k & 1)]))
        right = tuple(sorted([*fixed_b, *(h for k, h in enumerate(free) if not choice >> k & 1)]))
        cost = pool.cost(left, opened) + pool.cost(right, opened)
        if cost < least:
            best, least = (left, right), cost
    return best


def _contested(a: Zone, b: Zone, xy: NDArray[np.float64]) -> tuple[list[int], list[int], list[int]]:
    """Heads of two zones that a split may move, those nearest the border first, and those that stay."""
    heads = [*a, *b]
    middles = [xy[list(zone)].mean(axis=0) for zone in (a, b)]
    to_a, to_b = (np.sqrt(((xy[heads] - middle) ** 2).sum(axis=1)) for middle in middles)
    depth = dict(zip(heads, np.where(np.arange(len(heads)) < len(a), to_b - to_a, to_a - to_b).tolist(), strict=True))
    free = sorted(heads, key=lambda h: (depth[h], h))[:_FREE]
    return free, [h for h in a if h not in free], [h for h in b if h not in free]
