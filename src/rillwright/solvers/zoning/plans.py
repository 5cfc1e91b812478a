"""Cheapest plans at a given number of zones: search for compact zones, then choose among all zones met."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.groups import compact_zones
from rillwright.solvers.zoning.partition import (
    Partition,
    all_zones,
    best_partition,
    most_alike,
    plan_cost,
    thin_pool,
)
from rillwright.solvers.zoning.pool import Pool, choose_places
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["cheapest_plans", "differs"]

Zone = tuple[int, ...]

_WORK = 0.5  # CP-SAT's deterministic time for the choice of zones from the pool
_EXACT_WORK = 12.0  # the same when every feasible zone is listed
_OTHER_WORK = 0.5  # the same for each further plan, where the search met none that differs enough
_OFFERED = 6  # places offered besides those that the search opened


def cheapest_plans(
    task: ZoneTask, start: Sequence[Sequence[Zone]], *, most: int, effort: float = 1.0, seed: int, watch: Watch
) -> list[Partition]:
    """Up to `most` different plans, cheapest first; the first is proven only if every feasible zone was listed.

    Where several are asked for and zones met in the search make a cheaper plan than any searched, that one is added at
    the end: the estimate is not sharp enough to leave a searched plan out for it.
    Parameters: start, zones of each group of the task, which fix the number of zones; effort, of annealing.
    """
    pool, numbers = Pool(task), [len(zones) for zones in start]
    searched = [_at_home(pool, *plan) for plan in compact_zones(pool, start, effort=effort, seed=seed, watch=watch)]
    zones, opened = searched[0].zones, sorted(set(searched[0].places))
    listed = all_zones(task)
    candidates = thin_pool(pool, zones, opened) if listed is None else listed
    offered = _likely(pool, zones, opened) if listed is None else range(len(task.opening))
    choose = partial(best_partition, pool, candidates, offered, numbers, seed=seed, watch=watch)
    first = choose(known=searched[0], work=_WORK if listed is None else _EXACT_WORK) or searched[0]
    if listed is None or not first.proven:
        moved = _at_home(pool, first.zones, choose_places(pool, first.zones))
        least = min(first, moved, key=lambda plan: plan_cost(task, plan))
        first = Partition(least.zones, least.places, proven=False)
    plans = [searched[0] if listed is None and most > 1 else first]
    while len(plans) < most and not watch.over():
        spare = next((plan for plan in searched if differs(plan, plans)), None)
        if spare is None and listed is None and len(plans) > 1:
            break
        if listed is not None or spare is None:
            spare = choose(known=spare, apart=plans, work=_OTHER_WORK) or spare
        if spare is None:
            break
        plans.append(replace(spare, proven=False))
    plans.sort(key=lambda plan: (not plan.proven, plan_cost(task, plan)))
    return plans if any(plan.pairs == first.pairs for plan in plans) else [*plans, first]


def differs(plan: Partition, others: Sequence[Partition]) -> bool:
    """Whether a plan differs from each of some others in a quarter of its zones, by heads or place."""
    return all(len(plan.pairs & other.pairs) <= most_alike(len(plan.zones)) for other in others)


def _at_home(pool: Pool, zones: Sequence[Zone], opened: Sequence[int]) -> Partition:
    """Zones at the nearest of the open places that may serve them."""
    homes = (min(opened, key=lambda p: (float(pool.links(zone)[p]), p)) for zone in zones)
    return Partition(tuple(zones), tuple(homes), proven=False)


def _likely(pool: Pool, zones: Sequence[Zone], opened: Sequence[int]) -> list[int]:
    """Places worth offering again: those open, and for some zones the place cheapest to open for it alone."""
    task = pool.task
    alone = [int(np.argmin(task.opening + task.trench_cost * pool.links(zone))) for zone in zones]
    return sorted(dict.fromkeys([*opened, *alone[:_OFFERED]]))
