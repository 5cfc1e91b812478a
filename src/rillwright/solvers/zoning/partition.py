"""Choose zones and places together out of a pool of feasible zones: set partitioning by CP-SAT.

Beside a choice that is known, only what a cheaper one may take is left to choose from (`reduced`); often nothing is.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.cpsat import steady_solver
from rillwright.solvers.zoning.pool import Pool
from rillwright.solvers.zoning.reduced import promising
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["Partition", "all_zones", "best_partition", "most_alike", "plan_cost", "thin_pool"]

Zone = tuple[int, ...]

_MANY = 24_000  # zone and place pairs up to which every feasible zone is listed
_POOL = 1_500  # zones kept of a searched pool
_APART = 4  # a further plan differs in one zone out of so many
_SCALE = 2**30  # the greatest total cost in whole numbers


@dataclass(frozen=True, slots=True)
class Partition:
    """Zones with the place of each, and whether no choice from the same pool is cheaper."""

    zones: tuple[Zone, ...]
    places: tuple[int, ...]
    proven: bool

    @property
    def pairs(self) -> frozenset[tuple[Zone, int]]:
        """Each zone with its place."""
        return frozenset(zip(self.zones, self.places, strict=True))


def most_alike(zones: int) -> int:
    """Number of zones that two different plans may have in common, by heads and place."""
    return zones - max(1, zones // _APART)


def plan_cost(task: ZoneTask, plan: Partition) -> float:
    """Cost [currency] of the places a plan opens and of its trenches."""
    pool = Pool(task)
    trenches = sum(pool.cost(zone, [home]) for zone, home in zip(plan.zones, plan.places, strict=True))
    return float(task.opening[sorted(set(plan.places))].sum()) + trenches


def all_zones(task: ZoneTask) -> list[Zone] | None:
    """Every feasible zone, or None when zones and their legal places make too many pairs to list."""
    zones: list[Zone] = []
    pairs = 0
    for members in task.groups:
        level: list[Zone] = [(h,) for h in members]
        while level:
            zones += level
            pairs += sum(int(task.legal[:, list(zone)].all(axis=1).sum()) for zone in level)
            if pairs > _MANY:
                return None
            longer = ((*zone, h) for zone in level for h in members if h > zone[-1])
            level = [zone for zone in longer if task.fits(zone)]
    return zones


def thin_pool(pool: Pool, keep: Sequence[Zone], places: Sequence[int]) -> list[Zone]:
    """Zones of a pool that promise most: least trench for the flow they carry, and those to keep in any case."""
    task = pool.task
    fits = [zone for zone in pool.tree if task.fits(zone)]

    def rate(zone: Zone) -> float:
        return pool.cost(zone, places) / sum(task.flow[h] for h in zone)

    ranked = sorted(fits, key=lambda zone: (rate(zone), zone))
    return list(dict.fromkeys([*keep, *ranked[:_POOL]]))


def best_partition(
    pool: Pool,
    zones: Sequence[Zone],
    places: Sequence[int],
    counts: Sequence[int],
    *,
    known: Partition | None = None,
    apart: Sequence[Partition] = (),
    seed: int,
    work: float,
    watch: Watch,
) -> Partition | None:
    """Cheapest choice of counts[g] zones for each group g that holds every head once; None when none was found.

    Parameters: places to choose from; known, a lawful choice; apart, plans from which the choice must differ in a
    quarter of the zones, by heads or place; work, CP-SAT's deterministic time.
    """
    from ortools.sat.python import cp_model

    task, model = pool.task, cp_model.CpModel()
    links = [(zone, p) for zone in zones for p in places if np.isfinite(pool.links(zone)[p])]
    cost = [task.trench_cost * (pool.length(zone) + float(pool.links(zone)[p])) for zone, p in links]
    if known is not None:
        opening = {p: float(task.opening[p]) for p in places}
        left = promising(links, np.array(cost), opening, task.groups, counts, plan_cost(task, known))
        if len(left) == 0:
            return replace(known, proven=True)
        links, cost = [links[i] for i in left], [cost[i] for i in left]
    used = [model.new_bool_var("") for _ in links]
    opened = {p: model.new_bool_var("") for p in places}
    holders: dict[int, list[int]] = {h: [] for h in range(len(task.flow))}
    at_place: dict[tuple[int, int], list[int]] = {}
    for i, (zone, p) in enumerate(links):
        for h in zone:
            holders[h].append(i)
            at_place.setdefault((h, p), []).append(i)
    for members, count in zip(task.groups, counts, strict=True):
        for h in members:
            model.add_exactly_one([used[i] for i in holders[h]])
        own = set(members)
        model.add(sum(used[i] for i, (zone, _) in enumerate(links) if zone[0] in own) == count)
    for (_, p), ids in at_place.items():
        model.add(sum(used[i] for i in ids) <= opened[p])
    scale = _SCALE / max(float(task.opening[list(places)].sum()) + sum(sorted(cost)[-sum(counts) :]), 1e-9)
    terms = [round(scale * c) * u for c, u in zip(cost, used, strict=True)]
    terms += [round(scale * float(task.opening[p])) * opened[p] for p in places]
    model.minimize(sum(terms))
    if known is not None:
        pairs = known.pairs
        for i, link in enumerate(links):
            model.add_hint(used[i], link in pairs)
        for p, variable in opened.items():
            model.add_hint(variable, p in known.places)
    for plan in apart:
        theirs = plan.pairs
        same = sum(used[i] for i, link in enumerate(links) if link in theirs)
        model.add(same <= most_alike(sum(counts)))
    solver = steady_solver(seed=seed, work=work, watch=watch)
    solver.parameters.linearization_level = 2
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    chosen = [link for i, link in enumerate(links) if solver.boolean_value(used[i])]
    return Partition(tuple(z for z, _ in chosen), tuple(p for _, p in chosen), status == cp_model.OPTIMAL)
