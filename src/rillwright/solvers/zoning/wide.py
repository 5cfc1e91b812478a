"""Yards too big to search whole: heads parted in space, zoned part by part, then zoned anew in overlapping windows.

Parts come from cutting a group across its longer side, again and again, so that each part's flow fills a whole number
of zones equally well. Windows of neighbouring zones are cut at another angle each round, so that every border between
parts lies inside a window. Places are chosen for all zones together between the rounds.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.anneal import annealed
from rillwright.solvers.zoning.count import Count, pack, simple_bound
from rillwright.solvers.zoning.groups import compact_zones
from rillwright.solvers.zoning.pairs import split_pairs
from rillwright.solvers.zoning.partition import Partition
from rillwright.solvers.zoning.pool import Pool, choose_places
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["WHOLE", "Spread", "count_in_parts", "wide_plan"]

Zone = tuple[int, ...]
Spread = Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]  # does work for each task, as `map` does

WHOLE = 240  # heads that are searched whole
_PART = 10  # zones of a part, at most
_FILL = 0.985  # share of a part's capacity that its heads take, so that it can be packed and still be compact
_TRIES = 60
_ROUNDS = 3  # of annealed windows at effort 1
_TURN = 0.65  # [rad] from the cuts of one round to those of the next


def count_in_parts(task: ZoneTask, members: Sequence[int]) -> Count:
    """Pack a group part by part; the bound is that of the whole group."""
    bound = simple_bound(task, members)
    size = np.array([task.flow[h] / task.capacity[h] for h in members])
    number = max(bound, math.ceil(size.sum() / _FILL))
    zones: list[Zone] = []
    for chosen in _cut(task.at[list(members)], size, number, turn=0.0):
        part = [members[i] for i in chosen]
        zones += pack(task, part, most=simple_bound(task, part), tries=_TRIES)
    return Count(tuple(zones), bound, "packed in parts; bound of the whole by flow over capacity")


def _cut(xy: np.ndarray, size: np.ndarray, number: int, *, turn: float) -> list[list[int]]:
    """Cut points into compact parts of at most so many zones, each part with its share of the whole size."""
    axes = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    turned = xy @ axes.T
    waiting, parts = [(np.arange(len(xy)), number)], []
    while waiting:
        chosen, zones = waiting.pop()
        if zones <= _PART:
            parts.append([int(i) for i in chosen])
            continue
        side = turned[chosen]
        order = chosen[np.argsort(side[:, int(np.argmax(np.ptp(side, axis=0)))], kind="stable")]
        filled = np.cumsum(size[order])
        first = int(np.argmin(np.abs(filled - filled[-1] * (zones // 2) / zones))) + 1
        waiting += [(order[first:], zones - zones // 2), (order[:first], zones // 2)]
    return [part for part in parts if part]


@dataclass(frozen=True, slots=True)
class _Window:
    """Neighbouring zones of one group, by the numbers of their heads in a task of these alone."""

    task: ZoneTask
    zones: tuple[Zone, ...]
    places: tuple[int, ...]
    first: bool
    seed: int
    deadline: float  # [s] as that of a watch


def wide_plan(
    task: ZoneTask, start: Sequence[Sequence[Zone]], *, effort: float, seed: int, watch: Watch, spread: Spread = map
) -> Partition:
    """A plan of low cost for many heads, as many zones in each group as at the start.

    Parameters: spread, does the windows of a round, which do not depend on each other, perhaps in other processes.
    """
    pool = Pool(task)
    zones = [zone for packing in start for zone in packing]
    places = choose_places(pool, zones)
    rounds = 1 + round(_ROUNDS * effort)
    for number in range(rounds):
        cut = _windows(task, start if number == 0 else _by_group(task, zones), turn=number * _TURN)
        heads = [sorted(h for zone in window for h in zone) for window in cut]
        windows = [
            _window(task, window, chosen, places, first=number == 0, seed=seed + number, watch=watch)
            for window, chosen in zip(cut, heads, strict=True)
        ]
        zones, found = [], iter(spread(_rezoned, windows))
        for done, (old, chosen) in enumerate(zip(cut, heads, strict=True)):
            watch.tell("zones: in parts", (number + done / len(cut)) / rounds)
            zones += old if watch.over() else [tuple(chosen[i] for i in zone) for zone in next(found)]
        places = choose_places(pool, zones)
    homes = (min(places, key=lambda p: (float(pool.links(zone)[p]), p)) for zone in zones)
    return Partition(tuple(zones), tuple(homes), proven=False)


def _by_group(task: ZoneTask, zones: Sequence[Zone]) -> list[list[Zone]]:
    home = {h: g for g, members in enumerate(task.groups) for h in members}
    groups: list[list[Zone]] = [[] for _ in task.groups]
    for zone in zones:
        groups[home[zone[0]]].append(zone)
    return groups


def _windows(task: ZoneTask, groups: Sequence[Sequence[Zone]], *, turn: float) -> list[list[Zone]]:
    """Neighbouring zones of one group, a part's number at most."""
    windows = []
    for zones in groups:
        centres = np.array([task.at[list(zone)].mean(axis=0) for zone in zones])
        windows += [[zones[i] for i in part] for part in _cut(centres, np.ones(len(zones)), len(zones), turn=turn)]
    return windows


def _window(
    task: ZoneTask,
    zones: Sequence[Zone],
    heads: Sequence[int],
    places: Sequence[int],
    *,
    first: bool,
    seed: int,
    watch: Watch,
) -> _Window:
    number = {h: i for i, h in enumerate(heads)}
    own = tuple(tuple(number[h] for h in zone) for zone in zones)
    return _Window(task.part(heads, opened=places), own, tuple(places), first, seed, watch.deadline)


def _rezoned(window: _Window) -> list[Zone]:
    """Zones of a window made anew: from several starts the first time, annealed after that."""
    task, zones, places, watch = window.task, list(window.zones), window.places, Watch(deadline=window.deadline)
    if window.first:
        return compact_zones(Pool(task), [zones], effort=0.0, seed=window.seed, watch=watch)[0][0]
    moved = annealed(task, zones, places, seed=window.seed, watch=watch)
    return split_pairs(Pool(task), moved, list(places), task.at, watch)
