"""Zones and valve places: the fewest zones first, then the cheapest trenches and places at that number."""

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from rillwright.errors import SolverError
from rillwright.model.findings import Proof
from rillwright.solvers.places import PlaceOption
from rillwright.solvers.zoning.bound import cost_bound
from rillwright.solvers.zoning.count import Count, fewest_zones
from rillwright.solvers.zoning.groups import Pool, choose_places, compact_zones
from rillwright.solvers.zoning.partition import all_zones, best_partition, thin_pool
from rillwright.solvers.zoning.task import HeadLoad, ZoneTask, zone_task

__all__ = ["Clash", "HeadLoad", "ZoneGroup", "Zoning", "make_zones"]

Point = tuple[float, float]
Zone = tuple[int, ...]

_COST = "zones: cost"
_WORK = 1.0  # CP-SAT's deterministic time for the choice of zones from the pool
_EXACT_WORK = 12.0  # the same when every feasible zone is listed
_OFFERED = 6  # places offered besides those that the search opened
_WRONG = 1e-4  # relative; a bound over the cost by more is a fault, less is rounding
_EQUAL = 1e-6  # relative difference below which cost and bound are equal


@dataclass(frozen=True, slots=True)
class ZoneGroup:
    """Heads that share a zone, and the place of its valve."""

    heads: tuple[str, ...]
    place: str


@dataclass(frozen=True, slots=True)
class Clash:
    """A limit that cannot be kept, and by how much."""

    kind: Literal["flow", "height", "stations"]
    where: str  # head id, or 'controller'
    need: float  # flow: the head's [m³/s]; height: level the device must reach [m]; stations: zones needed
    have: float  # flow: its capacity [m³/s]; height: greatest level any place offers [m]; stations: there are

    @property
    def short(self) -> float:
        """What is missing, in the unit of need and have."""
        return self.need - self.have


@dataclass(frozen=True, slots=True)
class Zoning:
    """Zones and their places; none when a head cannot be zoned at all."""

    groups: tuple[ZoneGroup, ...]
    places_used: tuple[str, ...]
    cost: float  # [currency] estimate: places, zones, trenches
    proofs: tuple[Proof, ...]
    status: Literal["optimal", "feasible", "infeasible"]
    clashes: tuple[Clash, ...] = ()

    @property
    def hard(self) -> int:
        """Number of clashes that no station mends."""
        return sum(clash.kind != "stations" for clash in self.clashes)

    @property
    def stations_missing(self) -> int:
        """Stations that the controller lacks."""
        return sum(int(clash.short) for clash in self.clashes if clash.kind == "stations")


def make_zones(
    loads: Sequence[HeadLoad],
    options: Sequence[PlaceOption],
    *,
    may_serve: Mapping[str, frozenset[str]],
    stations: int,
    place_cost: float,
    zone_cost: float,
    trench_cost: float,
    clearance: float = 0.0,
    distance: Callable[[Point, Point], float] = math.dist,
    seed: int = 0,
    time_limit: float = 8.0,
) -> Zoning:
    """Put heads into the fewest zones, and the zones at the places that cost least.

    Parameters: may_serve, place id -> ids of the heads it may serve; place_cost [currency] of a place (device, box);
    zone_cost [currency] of a zone; trench_cost [currency/m]; clearance [m] of the device over outlets, for the
    report of a height clash only; distance, trench length between two points [m]; time_limit [s] is a guard: the
    work itself is bounded by counts and by CP-SAT's deterministic time, so that the plan is the same on any machine.
    Returns a Zoning. A head over its own capacity, or that no place may serve, is a clash: then no zones are made. Too
    few stations is a clash too, and the fewest zones are returned.
    Errors: SolverError when a cost is under its own bound, which is a fault of the solver.
    """
    clock = _Clock(time.monotonic(), time_limit)
    clashes = _head_clashes(loads, options, may_serve, clearance)
    if clashes or not loads:
        return Zoning((), (), 0.0, (), "infeasible" if clashes else "optimal", clashes)
    task = zone_task(
        loads, options, may_serve=may_serve, place_cost=place_cost, trench_cost=trench_cost, distance=distance
    )
    counts = [fewest_zones(task, members, seed=seed, deadline=clock.until(0.5)) for members in task.groups]
    number = sum(len(count.zones) for count in counts)
    if number > stations:
        clashes = (Clash("stations", "controller", need=number, have=stations),)
    zones, homes, cost = _cheapest(task, counts, loads, number * zone_cost, seed=seed, clock=clock)
    proofs = (_count_proof(counts), cost)
    proven = all(proof.status == "optimal" for proof in proofs)
    groups = tuple(
        ZoneGroup(tuple(loads[h].id for h in zone), options[home].id)
        for zone, home in sorted(zip(zones, homes, strict=True))
    )
    used = tuple(options[p].id for p in sorted(set(homes)))
    return Zoning(
        groups, used, cost.value, proofs, "infeasible" if clashes else "optimal" if proven else "feasible", clashes
    )


@dataclass(frozen=True, slots=True)
class _Clock:
    """Shares the time limit out among the stages."""

    start: float  # [s] by time.monotonic
    limit: float  # [s]

    def until(self, share: float) -> float:
        """Moment by time.monotonic [s] when a share of the limit is used."""
        return self.start + share * self.limit


def _head_clashes(
    loads: Sequence[HeadLoad],
    options: Sequence[PlaceOption],
    may_serve: Mapping[str, frozenset[str]],
    clearance: float,
) -> tuple[Clash, ...]:
    served = frozenset().union(*(may_serve.get(option.id, frozenset()) for option in options))
    highest = max((option.highest_level for option in options), default=-math.inf)
    clashes = []
    for load in loads:
        if load.flow > load.capacity:
            clashes.append(Clash("flow", load.id, need=load.flow, have=load.capacity))
        elif load.id not in served:
            clashes.append(Clash("height", load.id, need=load.level + clearance, have=highest))
    return tuple(clashes)


def _count_proof(counts: Sequence[Count]) -> Proof:
    value, bound = sum(len(count.zones) for count in counts), sum(count.bound for count in counts)
    methods = "; ".join(dict.fromkeys(count.method for count in counts))
    status: Literal["optimal", "feasible"] = "optimal" if value == bound else "feasible"
    return Proof(stage="zones: fewest", status=status, value=value, bound=bound, method=methods)


def _cheapest(
    task: ZoneTask, counts: Sequence[Count], loads: Sequence[HeadLoad], fixed: float, *, seed: int, clock: _Clock
) -> tuple[Sequence[Zone], Sequence[int], Proof]:
    """Zones, the place of each, and the proof with the whole cost, at the number of zones given."""
    pool, numbers = Pool(task), [len(count.zones) for count in counts]
    zones, opened = compact_zones(
        pool, [count.zones for count in counts], at=[load.at for load in loads], deadline=clock.until(0.7)
    )
    listed = all_zones(task)
    partition = best_partition(
        pool,
        thin_pool(pool, zones, opened) if listed is None else listed,
        _likely(pool, zones, opened) if listed is None else range(len(task.opening)),
        numbers,
        hint=(zones, opened),
        seed=seed,
        work=_WORK if listed is None else _EXACT_WORK,
        deadline=clock.until(0.85),
    )
    if partition is not None:
        zones = list(partition.zones)
        opened = choose_places(pool, zones) if listed is None else sorted(set(partition.places))
    homes = [_home(pool, zone, opened) for zone in zones]
    cost = fixed + float(task.opening[sorted(set(homes))].sum())
    cost += sum(pool.cost(zone, [home]) for zone, home in zip(zones, homes, strict=True))
    if listed is not None and partition is not None and partition.proven:
        method = f"CP-SAT set partitioning over all {len(listed)} feasible zones"
        return zones, homes, Proof(stage=_COST, status="optimal", value=cost, bound=cost, method=method)
    bound = cost_bound(task, numbers, deadline=clock.until(1.0))
    return zones, homes, _cost_proof(cost, None if bound is None else bound + fixed)


def _cost_proof(cost: float, bound: float | None) -> Proof:
    method = "set partitioning over searched zones by CP-SAT; bound of the capacitated tree with capacity cuts"
    if bound is None:
        return Proof(stage=_COST, status="heuristic", value=cost, bound=None, method=method)
    if bound > cost + _WRONG * abs(cost):
        raise SolverError(
            f"Zoning: the cost {cost:.6g} is under its own lower bound {bound:.6g}. Please report this yard."
        )
    status: Literal["optimal", "feasible"] = "optimal" if cost - bound <= _EQUAL * abs(cost) else "feasible"
    return Proof(stage=_COST, status=status, value=cost, bound=min(bound, cost), method=method)


def _home(pool: Pool, zone: Zone, opened: Sequence[int]) -> int:
    return min(opened, key=lambda p: (float(pool.links(zone)[p]), p))


def _likely(pool: Pool, zones: Sequence[Zone], opened: Sequence[int]) -> list[int]:
    """Places worth offering again: those open, and for some zones the place cheapest to open for it alone."""
    task = pool.task
    alone = [int(np.argmin(task.opening + task.trench_cost * pool.links(zone))) for zone in zones]
    return sorted(dict.fromkeys([*opened, *alone[:_OFFERED]]))
