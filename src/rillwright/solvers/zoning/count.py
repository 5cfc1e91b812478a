"""Fewest zones of one group: bin packing in which the least capacity of a zone's heads is the zone's capacity.

Found by filling one zone after another as full as it can be; proven by the sum of flow over capacity, by dual
feasible functions, by the rounded bound of the pattern programme, and, where a gap is left, by CP-SAT.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.cpsat import steady_solver
from rillwright.solvers.zoning.patterns import kinds_of, pattern_bound
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["Count", "fewest_zones", "pack", "simple_bound"]

Zone = tuple[int, ...]

_GRAIN = 4_000  # flows are rounded to this share of the greatest capacity when a zone is filled
_TRIES = 60
_WORK = 6.0  # CP-SAT's own measure of work, the same on every machine


@dataclass(frozen=True, slots=True)
class Count:
    """Zones of one group, and the number below which none can do."""

    zones: tuple[Zone, ...]
    bound: int
    method: str


def fewest_zones(task: ZoneTask, heads: Sequence[int], *, seed: int, watch: Watch, prove: bool = True) -> Count:
    """Pack the heads of one group into the fewest zones; every head must fit a zone of its own.

    Parameters: seed of CP-SAT; prove, whether to go on where the packing needs more zones than its first bound. The
    work is bounded by counts.
    """
    bound, method = simple_bound(task, heads), "flow over capacity, dual feasible functions"
    zones = pack(task, heads, most=bound, tries=_TRIES)
    if len(zones) == bound or not prove:
        return Count(tuple(zones), bound, method)
    kinds = kinds_of(task, heads)
    kind = {h: k for k, members in enumerate(kinds) for h in members}
    start = [tuple(sorted(kind[h] for h in zone)) for zone in zones]
    better, patterns = pattern_bound(task, kinds, start=start, watch=watch)
    if better > bound:
        bound, method = better, "rounded bound of the pattern programme"
    if len(zones) > bound:
        zones = _cover(kinds, [*patterns, *start], hint=start, seed=seed, watch=watch) or zones
    while len(zones) > bound:
        found, proven = _assign(task, kinds, len(zones) - 1, seed=seed, watch=watch)
        if proven:
            bound, method = len(zones), "CP-SAT: one zone fewer cannot be"
        if found is None:
            break
        zones = found
    return Count(tuple(zones), bound, method)


def pack(task: ZoneTask, heads: Sequence[int], *, most: int, tries: int) -> list[Zone]:
    """Best packing of several; stops as soon as one needs no more than `most` zones.

    Sequential value correction: zones are filled one after another with the heads of greatest value, and a head that
    ended in a poorly filled zone is worth more in the next try.
    Source: Belov and Scheithauer, Setup and open-stacks minimization in cutting stock (2007), from memory.
    """
    best = _first_fit(task, heads)
    share = {h: task.flow[h] / task.capacity[h] for h in heads}
    value = dict(share)
    for attempt in range(tries):
        if len(best) <= most:
            break
        zones = _fill(task, heads, value, by_capacity=attempt % 3 != 2)
        if len(zones) < len(best):
            best = zones
        for zone in zones:
            filled = sum(share[h] for h in zone)
            for h in zone:
                value[h] = 0.6 * value[h] + 0.4 * share[h] ** 1.02 / filled
    return best


def simple_bound(task: ZoneTask, heads: Sequence[int]) -> int:
    """Bounds of bin packing on flow over own capacity, which no zone's sum exceeds 1.

    Since a zone's capacity is the least of its heads', sum(flow / own capacity) <= sum(flow) / capacity <= 1.
    Dual feasible function: sizes over 1 - t count 1, sizes under t count 0, others themselves.
    Source: Fekete and Schepers, New classes of fast lower bounds for bin packing, Math. Programming 91 (2001), from
    memory.
    """
    sizes = np.sort([task.flow[h] / task.capacity[h] for h in heads])
    sums = np.concatenate([[0.0], np.cumsum(sizes)])
    t = np.concatenate([[0.0], sizes[sizes <= 0.5]])
    first, big = np.searchsorted(sizes, t - 1e-12), np.searchsorted(sizes, 1 - t + 1e-12, side="right")
    totals = sums[big] - sums[first] + len(sizes) - big
    return max(1, math.ceil(float(totals.max()) - 1e-9))


def _first_fit(task: ZoneTask, heads: Sequence[int]) -> list[Zone]:
    zones: list[list[int]] = []
    for head in sorted(heads, key=lambda h: (task.capacity[h], -task.flow[h], h)):
        home = next((zone for zone in zones if task.fits([*zone, head])), None)
        if home is None:
            zones.append([head])
        else:
            home.append(head)
    return [tuple(sorted(zone)) for zone in zones]


def _fill(task: ZoneTask, heads: Sequence[int], value: dict[int, float], *, by_capacity: bool) -> list[Zone]:
    """Fill one zone after another, each with as much value as its seed's capacity and places allow."""
    left = set(heads)
    unit = max(task.capacity[h] for h in heads) / _GRAIN
    zones: list[Zone] = []
    while left:
        if by_capacity:
            seed = min(left, key=lambda h: (task.capacity[h], -value[h], h))
        else:
            seed = max(left, key=lambda h: (value[h], -task.capacity[h], -h))
        zone = _fullest(task, seed, left, unit, value)
        zones.append(zone)
        left -= set(zone)
    return zones


def _fullest(task: ZoneTask, seed: int, left: set[int], unit: float, value: dict[int, float]) -> Zone:
    """Zone of greatest value that holds the seed as its head of least capacity."""
    best: Zone = (seed,)
    room = task.capacity[seed] - task.flow[seed]
    for bit in _place_classes(task, seed, left):
        others = [h for h in left if h != seed and task.capacity[h] >= task.capacity[seed] and task.may[h] & bit]
        others = sorted(h for h in others if task.flow[h] <= room)
        zone = tuple(sorted([seed, *_most_value(task, others, value, room, unit)]))
        if sum(value[h] for h in zone) > sum(value[h] for h in best):
            best = zone
    return best


def _place_classes(task: ZoneTask, seed: int, left: set[int]) -> list[int]:
    """One place, as a bit, of each kind that may serve the seed; kinds differ in the heads left they may serve."""
    places = np.flatnonzero(task.legal[:, seed]).tolist()
    served = np.packbits(task.legal[np.ix_(places, sorted(left))], axis=1)
    kinds: dict[int, int] = {}
    for place, row in zip(places, served, strict=True):
        kinds.setdefault(int.from_bytes(row.tobytes()), 1 << place)
    return [bit for own, bit in kinds.items() if not any(own != other and own & other == own for other in kinds)]


def _most_value(task: ZoneTask, heads: list[int], value: dict[int, float], room: int, unit: float) -> list[int]:
    """Heads of the greatest total value within the room: a knapsack in rounded flow, checked in exact flow."""
    sizes = [max(1, round(task.flow[h] / unit)) for h in heads]
    cells = round(room / unit)
    worth, took = np.zeros(cells + 1), []
    for h, size in zip(heads, sizes, strict=True):
        with_it = np.zeros_like(worth)
        with_it[size:] = worth[: max(0, len(worth) - size)] + value[h]
        took.append(with_it > worth)
        worth = np.maximum(worth, with_it)
    for less in range(20):
        chosen, at = [], cells - less
        for k in range(len(heads) - 1, -1, -1):
            if at >= 0 and took[k][at]:
                chosen.append(heads[k])
                at -= sizes[k]
        if sum(task.flow[h] for h in chosen) <= room:
            return chosen
    return []


def _cover(
    kinds: Sequence[Sequence[int]], patterns: Sequence[Zone], *, hint: Sequence[Zone], seed: int, watch: Watch
) -> list[Zone] | None:
    """Fewest of the given patterns that hold every head; a head held too often is left out of the later zones."""
    from ortools.sat.python import cp_model

    unique = sorted(set(patterns))
    model = cp_model.CpModel()
    times = [model.new_int_var(0, len(hint), "") for _ in unique]
    for i, pattern in enumerate(unique):
        model.add_hint(times[i], hint.count(pattern))
    for k, members in enumerate(kinds):
        held = [p.count(k) * times[i] for i, p in enumerate(unique) if k in p]
        model.add(sum(held) >= len(members))
    model.minimize(sum(times))
    solver = steady_solver(seed=seed, watch=watch, work=_WORK / 2)
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    chosen = [pattern for i, pattern in enumerate(unique) for _ in range(solver.value(times[i]))]
    return _with_heads(kinds, chosen)


def _with_heads(kinds: Sequence[Sequence[int]], patterns: Sequence[Zone]) -> list[Zone]:
    """Put heads into the patterns' kinds until none is left."""
    pools = [list(reversed(members)) for members in kinds]
    zones = [tuple(sorted(pools[k].pop() for k in pattern if pools[k])) for pattern in patterns]
    return [zone for zone in zones if zone]


def _assign(
    task: ZoneTask, kinds: Sequence[Sequence[int]], count: int, *, seed: int, watch: Watch
) -> tuple[list[Zone] | None, bool]:
    """Pack into `count` zones, or prove that it cannot be; equal heads are counted, not told apart."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    sample = [members[0] for members in kinds]
    put = [[model.new_int_var(0, len(members), "") for members in kinds] for _ in range(count)]
    loads = []
    for zone in put:
        used = [model.new_bool_var("") for _ in kinds]
        room = model.new_int_var(0, max(task.capacity[h] for h in sample), "")
        for number, here, h, members in zip(zone, used, sample, kinds, strict=True):
            model.add(number <= len(members) * here)
            model.add(room <= task.capacity[h]).only_enforce_if(here)
        loads.append(sum(task.flow[h] * number for h, number in zip(sample, zone, strict=True)))
        model.add(loads[-1] <= room)
        _stand(model, task, sample, used)
    for k, members in enumerate(kinds):
        model.add(sum(zone[k] for zone in put) == len(members))
    for before, after in itertools.pairwise(loads):
        model.add(before >= after)
    solver = steady_solver(seed=seed, watch=watch, work=_WORK)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, status == cp_model.INFEASIBLE
    found = [tuple(k for k, number in enumerate(zone) for _ in range(solver.value(number))) for zone in put]
    return _with_heads(kinds, found), False


def _stand(model: Any, task: ZoneTask, sample: Sequence[int], used: Sequence[Any]) -> None:
    """Ask for one place that may serve every kind used in a zone; nothing to ask when every place may serve all."""
    if task.legal[:, list(sample)].all():
        return
    stands = [model.new_bool_var("") for _ in range(task.legal.shape[0])]
    model.add_exactly_one(stands)
    for p, here in enumerate(stands):
        for h, taken in zip(sample, used, strict=True):
            if not task.legal[p, h]:
                model.add_implication(here, taken.negated())
