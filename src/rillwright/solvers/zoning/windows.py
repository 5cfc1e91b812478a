"""Zones of a plan made anew, a few neighbours at a time: what is left to gain on yards too big to search at once.

Each zone in turn is opened up with its nearest neighbours of the group, and their heads are parted anew among as many
zones by the whole search (`plans`), places used by others being open. A change is kept when the whole plan costs less.
Source: large neighbourhood search, Shaw, Using constraint programming and local search methods to solve vehicle
routing problems, CP 1998, for the same device; from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.partition import Partition, plan_cost
from rillwright.solvers.zoning.plans import cheapest_plans
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["reworked"]

Zone = tuple[int, ...]

_WINDOW = 5  # zones opened up together
_MANY = 120  # heads up to which the search of the whole yard leaves little to gain


@dataclass(frozen=True)
class _Work:
    """How much is done where zones are full; of emptier ones annealing leaves little to gain."""

    over: float  # share of their capacity that the zones use
    sweeps: int  # at most
    effort: float  # of annealing in a window


_THOROUGH, _LIGHT = _Work(over=0.98, sweeps=3, effort=0.3), _Work(over=0.99, sweeps=1, effort=0.1)


def reworked(task: ZoneTask, plan: Partition, *, seed: int, watch: Watch) -> Partition:
    """A plan that costs no more, with as many zones in each group; the same where zones are not full."""
    work = _THOROUGH if len(task.flow) > _MANY else _LIGHT
    if plan.proven or task.fullness(len(plan.zones)) <= work.over:
        return plan
    cost, tried = plan_cost(task, plan), set[frozenset[tuple[Zone, int]]]()
    for _ in range(work.sweeps):
        before = cost
        for head in [zone[0] for zone in plan.zones]:
            window = _around(task, plan, head)
            pairs = frozenset((plan.zones[i], plan.places[i]) for i in window)
            if pairs in tried or len(window) < 2:
                continue
            if watch.over():
                return plan
            tried.add(pairs)
            other = _opened_up(task, plan, window, effort=work.effort, seed=seed, watch=watch)
            less = plan_cost(task, other)
            if less < cost - 1e-9 * cost:
                plan, cost = other, less
        if cost == before:
            break
    return plan


def _around(task: ZoneTask, plan: Partition, head: int) -> list[int]:
    """The zone of a head, and those of its group nearest to it by their centres."""
    group = next(set(members) for members in task.groups if head in members)
    own = [i for i, zone in enumerate(plan.zones) if zone[0] in group]
    centres = np.array([task.at[list(plan.zones[i])].mean(axis=0) for i in own])
    here = next(k for k, i in enumerate(own) if head in plan.zones[i])
    order = np.argsort(np.linalg.norm(centres - centres[here], axis=1), kind="stable")
    return sorted(own[int(k)] for k in order[:_WINDOW])


def _opened_up(
    task: ZoneTask, plan: Partition, window: Sequence[int], *, effort: float, seed: int, watch: Watch
) -> Partition:
    """The plan with the zones of a window made anew."""
    kept = [i for i in range(len(plan.zones)) if i not in window]
    heads = sorted(h for i in window for h in plan.zones[i])
    number = {h: k for k, h in enumerate(heads)}
    zones = [tuple(sorted(number[h] for h in plan.zones[i])) for i in window]
    part = task.part(heads, opened=sorted({plan.places[i] for i in kept}))
    new = cheapest_plans(part, [zones], most=1, effort=effort, seed=seed, watch=watch)[0]
    return Partition(
        (*(plan.zones[i] for i in kept), *(tuple(heads[k] for k in zone) for zone in new.zones)),
        (*(plan.places[i] for i in kept), *new.places),
        proven=False,
    )
