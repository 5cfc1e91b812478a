"""Compact zones and few valve places at a fixed number of zones: search for a plan of low cost.

Cost of a plan: the opening of each place used, and for each zone its tree over its heads and the trench from the
place to the nearest of them. Two neighbouring zones are split anew in every way their limits allow, ranked by the
spread of the heads about the zones' centres, until no pair gets cheaper; the best plans are annealed, which moves heads
among all zones. Every zone met is kept in a pool, from which `partition` then chooses the best whole.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.anneal import annealed
from rillwright.solvers.zoning.carve import carve
from rillwright.solvers.zoning.pairs import split_pairs
from rillwright.solvers.zoning.pool import Pool, choose_places, other_places
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["Found", "compact_zones", "settle"]

Zone = tuple[int, ...]
Found = tuple[float, list[Zone], list[int]]  # cost [currency], zones, open places

_STARTS = 4  # directions from which zones are carved
_FULL = 0.99  # share of their capacity: zones fuller than that hang on chance, and are annealed for longer

_Turn = Literal["cheapest", "second", "elsewhere"]


@dataclass(frozen=True)
class _Patience:
    """How long plans are annealed."""

    rounds: int  # over the number of heads, at most, at effort 1
    idle: int  # rounds in a row that found nothing cheaper, after which annealing ends
    turns: tuple[_Turn, ...]  # what idle rounds start from, over and over


_USUAL = _Patience(1_200, 8, ("cheapest", "second", "cheapest", "elsewhere"))
_LONG = _Patience(2_400, 16, ("cheapest", "elsewhere", "second", "elsewhere"))


def compact_zones(
    pool: Pool, group_zones: Sequence[Sequence[Zone]], *, effort: float, seed: int, watch: Watch
) -> list[tuple[list[Zone], list[int]]]:
    """Improve the packings of all groups from several starts; the zones and open places of each, cheapest first.

    Parameters: group_zones, one packing for each group of the task, which fixes the number of zones; effort, of
    annealing, none at 0.
    """
    found: list[Found] = []
    for zones in _starts(pool.task, group_zones):
        found.append(settle(pool, zones, watch))
        if watch.over():
            break
    patience = _LONG if pool.task.fullness(sum(map(len, group_zones))) > _FULL else _USUAL
    rounds, idle, tried = round(effort * patience.rounds / len(pool.task.flow)), 0, set[tuple[int, ...]]()
    for round_ in range(rounds):
        watch.tell("zones: compact", (_STARTS + 1 + round_) / (_STARTS + 1 + rounds))
        turn = patience.turns[idle % len(patience.turns)]
        least, zones, places = _origin(pool, found, turn, tried)
        found.append(settle(pool, annealed(pool.task, zones, places, seed=seed + round_, watch=watch), watch))
        idle = 0 if found[-1][0] < least - 1e-5 else idle + 1
        if idle == patience.idle or watch.over():
            break
    return [(zones, places) for _, zones, places in sorted(found, key=lambda plan: plan[0])]


def _starts(task: ZoneTask, group_zones: Sequence[Sequence[Zone]]) -> Iterator[list[Zone]]:
    """The packings as they are, then carved anew from each direction."""
    yield [zone for packing in group_zones for zone in packing]
    for start in range(_STARTS):
        turn = 2 * math.pi * start / _STARTS
        towards = (math.cos(turn), math.sin(turn))
        yield [zone for packing in group_zones for zone in carve(task, packing, task.at, towards)]


def _origin(pool: Pool, found: Sequence[Found], turn: _Turn, tried: set[tuple[int, ...]]) -> Found:
    """Zones and places to anneal from, and the least cost found.

    They are those of the cheapest plan or the second, or the zones of the cheapest at other places, not tried yet.
    """
    first, *others = [plan for _, plan in sorted({round(plan[0], 6): plan for plan in reversed(found)}.items())]
    if turn == "second" and others:
        return first[0], *others[0][1:]
    if turn == "elsewhere":
        tried.add(tuple(first[2]))
        elsewhere = other_places(pool, first[1], first[2], tried)
        if elsewhere:
            tried.add(tuple(elsewhere))
            return first[0], first[1], elsewhere
    return first


def settle(pool: Pool, zones: list[Zone], watch: Watch) -> Found:
    """Alternate between places for the zones and zones for the places until neither gets cheaper."""
    places, before = choose_places(pool, zones), math.inf
    for _ in range(4):
        zones = split_pairs(pool, zones, places, pool.task.at, watch)
        places = choose_places(pool, zones)
        total = _total(pool, zones, places)
        if total >= before - 1e-9 or watch.over():
            break
        before = total
    return _total(pool, zones, places), zones, places


def _total(pool: Pool, zones: Sequence[Zone], places: Sequence[int]) -> float:
    return float(pool.task.opening[list(places)].sum()) + sum(pool.cost(zone, places) for zone in zones)
