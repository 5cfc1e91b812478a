"""Compact zones and few valve places at a fixed number of zones: search for a plan of low cost.

Cost of a plan: the opening of each place used, and for each zone its tree over its heads and the trench from the
place to the nearest of them. Two neighbouring zones are split anew in every way their limits allow, ranked by the
spread of the heads about the zones' centres, until no pair gets cheaper; the best plans are annealed, which moves
heads among all zones. Every zone met is kept in a pool, from which `partition` then chooses the best whole.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.anneal import annealed
from rillwright.solvers.zoning.count import pack
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["Pool", "choose_places", "compact_zones", "spread_tree"]

Zone = tuple[int, ...]

_FREE = 11  # heads that a split may move between two zones; the rest stay where they are
_TRIED = 16  # splits of a pair whose true cost is taken
_NEAR = 4  # neighbours of a zone with which it is split anew
_PASSES = 8
_ILLEGAL = 1e12  # [currency] stands for a place that may not serve a zone
_STARTS = 4  # directions from which zones are carved
_ANNEALED = 2  # of the cheapest plans, each for some rounds
_ROUNDS = 3


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
            known = self.tree[zone] = spread_tree(self.task.between, zone)
        return known

    def links(self, zone: Zone) -> NDArray[np.float64]:
        """Trench [m] from each place to the nearest head of the zone; infinite where the place is not legal."""
        known = self._links.get(zone)
        if known is None:
            heads = list(zone)
            nearest, legal = self.task.reach[:, heads].min(axis=1), self.task.legal[:, heads].all(axis=1)
            known = self._links[zone] = np.where(legal, nearest, np.inf)
        return known

    def cost(self, zone: Zone, places: Sequence[int]) -> float:
        """Trench cost of a zone served from the nearest legal place of some; infinite when none is legal."""
        return self.task.trench_cost * (self.length(zone) + float(self.links(zone)[places].min()))


def spread_tree(between: NDArray[np.float64], zone: Zone) -> float:
    """Length [m] of the shortest tree that joins the heads of a zone (Prim)."""
    apart = between[np.ix_(zone, zone)].tolist()
    left = list(range(1, len(zone)))
    gap = [apart[0][h] for h in left]
    total = 0.0
    while left:
        i = min(range(len(left)), key=gap.__getitem__)
        total += gap.pop(i)
        row = apart[left.pop(i)]
        gap = [min(g, row[h]) for g, h in zip(gap, left, strict=True)]
    return total


def compact_zones(
    pool: Pool, group_zones: Sequence[Sequence[Zone]], *, seed: int, watch: Watch
) -> list[tuple[list[Zone], list[int]]]:
    """Improve the packings of all groups from several starts; the zones and open places of each, cheapest first.

    Parameters: group_zones, one packing for each group of the task, which fixes the number of zones.
    """
    xy = pool.task.at
    found: list[tuple[float, list[Zone], list[int]]] = []
    for start in range(_STARTS + 1):
        turn = 2 * math.pi * (start - 1) / _STARTS
        zones: list[Zone] = []
        for packing in group_zones:
            zones += packing if start == 0 else _carve(pool, packing, xy, (math.cos(turn), math.sin(turn)))
        found.append(_settle(pool, zones, xy, watch))
        if watch.over():
            break
    found.sort(key=lambda plan: plan[0])
    for _, zones, places in found[:_ANNEALED]:
        for round_ in range(_ROUNDS):
            watch.tell("zones: compact", len(found) / (_STARTS + 1 + _ANNEALED * _ROUNDS))
            zones = annealed(pool.task, zones, places, seed=seed + round_, watch=watch)
            places = choose_places(pool, zones)
            found.append(_settle(pool, zones, xy, watch))
            _, zones, places = found[-1]
    return [(zones, places) for _, zones, places in sorted(found, key=lambda plan: plan[0])]


def _settle(
    pool: Pool, zones: list[Zone], xy: NDArray[np.float64], watch: Watch
) -> tuple[float, list[Zone], list[int]]:
    """Alternate between places for the zones and zones for the places until neither gets cheaper."""
    places, before = choose_places(pool, zones), math.inf
    for _ in range(4):
        zones = _split_pairs(pool, zones, places, xy, watch)
        places = choose_places(pool, zones)
        total = _total(pool, zones, places)
        if total >= before - 1e-9 or watch.over():
            break
        before = total
    return _total(pool, zones, places), zones, places


def _total(pool: Pool, zones: Sequence[Zone], places: Sequence[int]) -> float:
    return float(pool.task.opening[list(places)].sum()) + sum(pool.cost(zone, places) for zone in zones)


def choose_places(pool: Pool, zones: Sequence[Zone]) -> list[int]:
    """Places to open for given zones: add, drop or swap one place as long as the cost falls."""
    task = pool.task
    cost = np.minimum(task.trench_cost * np.array([pool.links(zone) for zone in zones]), _ILLEGAL)
    opening = task.opening

    def total(places: Sequence[int]) -> float:
        return float(opening[list(places)].sum() + cost[:, list(places)].min(axis=1).sum())

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


def _split_pairs(pool: Pool, zones: list[Zone], places: list[int], xy: NDArray[np.float64], watch: Watch) -> list[Zone]:
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
    sides = [_sums(pool.task, free, fixed, places, xy) for fixed in (fixed_a, fixed_b)]
    every = len(sides[0][0]) - 1
    swap = np.arange(every, -1, -1)  # the other side's choice is the complement
    allowed = np.flatnonzero(sides[0][0] & sides[1][0][swap])
    if len(allowed) == 0:
        return None
    spread = sides[0][1][allowed] + sides[1][1][swap][allowed]
    ranked = allowed[np.argsort(spread, kind="stable")[:_TRIED]]
    best, least = None, pool.cost(a, places) + pool.cost(b, places) - 1e-9
    for choice in ranked:
        left = tuple(sorted([*fixed_a, *(h for k, h in enumerate(free) if choice >> k & 1)]))
        right = tuple(sorted([*fixed_b, *(h for k, h in enumerate(free) if not choice >> k & 1)]))
        cost = pool.cost(left, places) + pool.cost(right, places)
        if cost < least:
            best, least = (left, right), cost
    return best


def _contested(a: Zone, b: Zone, xy: NDArray[np.float64]) -> tuple[list[int], list[int], list[int]]:
    """Heads of two zones that a split may move, those nearest the border first, and those that stay."""
    centre_a, centre_b = xy[list(a)].mean(axis=0), xy[list(b)].mean(axis=0)

    def depth(h: int) -> float:
        to_a, to_b = float(np.linalg.norm(xy[h] - centre_a)), float(np.linalg.norm(xy[h] - centre_b))
        return to_b - to_a if h in a else to_a - to_b

    free = sorted([*a, *b], key=lambda h: (depth(h), h))[:_FREE]
    return free, [h for h in a if h not in free], [h for h in b if h not in free]


def _sums(
    task: ZoneTask, free: list[int], fixed: list[int], places: list[int], xy: NDArray[np.float64]
) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """For every choice of free heads added to fixed ones: whether the zone is allowed, and its spread [m²]."""
    flow, room = np.zeros(1, dtype=np.int64), np.full(1, np.iinfo(np.int64).max)
    number, first, second = np.zeros(1), np.zeros((1, 2)), np.zeros(1)
    served = np.ones((1, len(places)), dtype=bool)
    for k, h in enumerate([*fixed, *free]):
        more = (
            flow + task.flow[h],
            np.minimum(room, task.capacity[h]),
            number + 1,
            first + xy[h],
            second + float(xy[h] @ xy[h]),
            served & task.legal[places, h],
        )
        if k < len(fixed):
            flow, room, number, first, second, served = more
        else:
            flow, room = np.concatenate([flow, more[0]]), np.concatenate([room, more[1]])
            number, first = np.concatenate([number, more[2]]), np.concatenate([first, more[3]])
            second, served = np.concatenate([second, more[4]]), np.concatenate([served, more[5]])
    allowed = (flow <= room) & (number > 0) & served.any(axis=1)
    return allowed, second - (first**2).sum(axis=1) / np.maximum(number, 1)


def _carve(pool: Pool, packing: Sequence[Zone], xy: NDArray[np.float64], towards: tuple[float, float]) -> list[Zone]:
    """Carve compact zones off one side of a group, each time making sure that the rest still fits the zones left."""
    left = sorted(h for zone in packing for h in zone)
    rest = list(packing)
    zones: list[Zone] = []
    while len(rest) > 1:
        for zone in _compact_ends(pool.task, left, len(rest), xy, towards):
            others = [h for h in left if h not in zone]
            packed = pack(pool.task, others, most=len(rest) - 1, tries=3) if others else []
            if len(packed) == len(rest) - 1:
                zones.append(zone)
                left, rest = others, packed
                break
        else:
            break
    return zones + rest


def _compact_ends(
    task: ZoneTask, left: list[int], count: int, xy: NDArray[np.float64], towards: tuple[float, float]
) -> list[Zone]:
    """A few compact and well-filled zones about the farthest head on one side, best first."""
    seed = max(left, key=lambda h: (float(xy[h] @ np.array(towards)), -h))
    near = sorted(left, key=lambda h: (float(np.linalg.norm(xy[h] - xy[seed])), h))[1 : _FREE + 1]
    allowed, spread = _sums(task, near, [seed], list(range(len(task.opening))), xy)
    flows = np.zeros(1)
    rooms = np.full(1, float(task.capacity[seed]))
    for h in near:
        flows = np.concatenate([flows, flows + task.flow[h]])
        rooms = np.concatenate([rooms, np.minimum(rooms, task.capacity[h])])
    flows += task.flow[seed]
    need = sum(task.flow[h] for h in left) / count
    zones = []
    for share in (0.97, 1.0, 0.0):
        good = np.flatnonzero(allowed & ((flows >= share * need) | (flows >= 0.998 * rooms)))
        for choice in good[np.argsort(spread[good], kind="stable")[:3]]:
            zones.append(tuple(sorted([seed, *(h for k, h in enumerate(near) if choice >> k & 1)])))
    return list(dict.fromkeys(zones))
