"""A zoning problem turned into numbers that the solvers share."""

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

from rillwright.solvers.places.trench_walk import TrenchWalk
from rillwright.solvers.zoning.result import ZoneProblem

__all__ = ["ZoneTask", "zone_task"]

Point = tuple[float, float]

_TICK = 1e-12  # [m³/s] flows are whole numbers of this, far below what anything can measure
_TABLED = 1000  # heads up to which a table of all to all is kept


@dataclass(frozen=True, slots=True)
class _Table:
    """Trench [m] from head to head, all known."""

    known: NDArray[np.float64]

    def __call__(self, rows: Sequence[int], columns: Sequence[int]) -> NDArray[np.float64]:
        return self.known[np.ix_(rows, columns)]


@dataclass(frozen=True)
class ZoneTask:
    """Heads 0..n-1 and places 0..m-1 as arrays; a zone is a sorted tuple of head numbers."""

    at: NDArray[np.float64]  # [m] (heads, 2)
    flow: list[int]  # [ticks]
    capacity: list[int]  # [ticks]
    groups: tuple[tuple[int, ...], ...]
    metres: Callable[[Sequence[int], Sequence[int]], NDArray[np.float64]]  # [m] trench from some heads to some heads
    reach: NDArray[np.float64]  # [m] (places, heads) trench from place to head
    legal: NDArray[np.bool_]  # (places, heads)
    opening: NDArray[np.float64]  # [currency] (places,): device, box and trench from the entry
    trench_cost: float  # [currency/m]

    @cached_property
    def between(self) -> NDArray[np.float64]:
        """Trench [m] from every head to every other, (heads, heads)."""
        return self.metres(range(len(self.flow)), range(len(self.flow)))

    def apart(self, heads: Sequence[int]) -> NDArray[np.float64]:
        """Trench [m] among some heads; of very many heads no table of all is made for it."""
        return self.between[np.ix_(heads, heads)] if len(self.flow) <= _TABLED else self.metres(heads, heads)

    @cached_property
    def may(self) -> list[int]:
        """For each head, its legal places as bits; a set of heads has a place when the bits have one in common."""
        return [sum(1 << int(p) for p in np.flatnonzero(self.legal[:, h])) for h in range(len(self.flow))]

    def part(self, heads: Sequence[int], *, opened: Collection[int] = ()) -> "ZoneTask":
        """The task of some heads, numbered in the order given; places opened already cost nothing to open."""
        chosen, number = list(heads), {h: i for i, h in enumerate(heads)}
        groups = (tuple(number[h] for h in members if h in number) for members in self.groups)
        opening = self.opening.copy()
        opening[list(opened)] = 0.0
        return ZoneTask(
            at=self.at[chosen],
            flow=[self.flow[h] for h in chosen],
            capacity=[self.capacity[h] for h in chosen],
            groups=tuple(members for members in groups if members),
            metres=_Table(self.apart(chosen)),
            reach=self.reach[:, chosen],
            legal=self.legal[:, chosen],
            opening=opening,
            trench_cost=self.trench_cost,
        )

    def at_places(self, places: Sequence[int]) -> "ZoneTask":
        """The task with some of the places alone."""
        chosen = list(places)
        return self.with_places(self.reach[chosen], self.legal[chosen], self.opening[chosen])

    def with_places(
        self, reach: NDArray[np.float64], legal: NDArray[np.bool_], opening: NDArray[np.float64]
    ) -> "ZoneTask":
        """The task with other places; trenches between heads are not measured again."""
        return replace(self, metres=_Table(self.between), reach=reach, legal=legal, opening=opening)

    def fullness(self, zones: int) -> float:
        """Share of their capacity that so many zones use."""
        return sum(flow / capacity for flow, capacity in zip(self.flow, self.capacity, strict=True)) / zones

    def fits(self, zone: Sequence[int]) -> bool:
        """Say whether some place may serve the zone and its flow is within the least capacity of its heads."""
        bits = -1
        for head in zone:
            bits &= self.may[head]
        return bits != 0 and sum(self.flow[h] for h in zone) <= min(self.capacity[h] for h in zone)


def zone_task(problem: ZoneProblem, *, opened: Collection[str] = ()) -> ZoneTask:
    """Turn heads and places into a task; places opened already cost nothing to open."""
    loads, options = problem.loads, problem.options
    names: dict[str, list[int]] = {}
    for i, load in enumerate(loads):
        names.setdefault(load.group, []).append(i)
    serves = [problem.may_serve.get(option.id, frozenset()) for option in options]
    legal = [[load.id in served for load in loads] for served in serves]
    shape = (len(options), len(loads))
    opening = [
        0.0 if option.id in opened else problem.place_cost + problem.trench_cost * option.entry_distance
        for option in options
    ]
    return ZoneTask(
        at=np.array([load.at for load in loads], dtype=float).reshape(-1, 2),
        flow=[round(load.flow / _TICK) for load in loads],
        capacity=[round(load.capacity / _TICK) for load in loads],
        groups=tuple(tuple(members) for _, members in sorted(names.items())),
        metres=partial(_among, problem),
        reach=_metres(problem, [option.at for option in options], [load.at for load in loads]),
        legal=np.array(legal, dtype=bool).reshape(shape),
        opening=np.array(opening),
        trench_cost=problem.trench_cost,
    )


def _among(problem: ZoneProblem, rows: Sequence[int], columns: Sequence[int]) -> NDArray[np.float64]:
    return _metres(problem, [problem.loads[h].at for h in rows], [problem.loads[h].at for h in columns])


def _metres(problem: ZoneProblem, rows: Sequence[Point], columns: Sequence[Point]) -> NDArray[np.float64]:
    """Trench [m] from each point to each other; in one step for straight lines and for walks."""
    if problem.distance is math.dist and rows and columns:
        return np.asarray(cdist(rows, columns))
    if isinstance(problem.distance, TrenchWalk):
        return problem.distance.table(rows, columns)
    table = [[problem.distance(a, b) for b in columns] for a in rows]
    return np.array(table, dtype=float).reshape(len(rows), len(columns))
