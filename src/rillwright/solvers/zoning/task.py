"""A zoning problem turned into numbers that the solvers share."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.zoning.result import ZoneProblem

__all__ = ["ZoneTask", "zone_task"]

_TICK = 1e-12  # [m³/s] flows are whole numbers of this, far below what anything can measure


@dataclass(frozen=True)
class ZoneTask:
    """Heads 0..n-1 and places 0..m-1 as arrays; a zone is a sorted tuple of head numbers."""

    at: NDArray[np.float64]  # [m] (heads, 2)
    flow: list[int]  # [ticks]
    capacity: list[int]  # [ticks]
    groups: tuple[tuple[int, ...], ...]
    between: NDArray[np.float64]  # [m] (heads, heads) trench from head to head
    reach: NDArray[np.float64]  # [m] (places, heads) trench from place to head
    legal: NDArray[np.bool_]  # (places, heads)
    opening: NDArray[np.float64]  # [currency] (places,): device, box and trench from the entry
    trench_cost: float  # [currency/m]

    @cached_property
    def may(self) -> list[int]:
        """For each head, its legal places as bits; a set of heads has a place when the bits have one in common."""
        return [sum(1 << int(p) for p in np.flatnonzero(self.legal[:, h])) for h in range(len(self.flow))]

    def fits(self, zone: Sequence[int]) -> bool:
        """Say whether some place may serve the zone and its flow is within the least capacity of its heads."""
        bits = -1
        for head in zone:
            bits &= self.may[head]
        return bits != 0 and sum(self.flow[h] for h in zone) <= min(self.capacity[h] for h in zone)


def zone_task(problem: ZoneProblem, *, opened: Collection[str] = ()) -> ZoneTask:
    """Turn heads and places into a task; places opened already cost nothing to open."""
    loads, options, distance = problem.loads, problem.options, problem.distance
    names: dict[str, list[int]] = {}
    for i, load in enumerate(loads):
        names.setdefault(load.group, []).append(i)
    legal = [[load.id in problem.may_serve.get(option.id, frozenset()) for load in loads] for option in options]
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
        between=np.array([[distance(a.at, b.at) for b in loads] for a in loads]).reshape(len(loads), len(loads)),
        reach=np.array([[distance(o.at, load.at) for load in loads] for o in options]).reshape(shape),
        legal=np.array(legal, dtype=bool).reshape(shape),
        opening=np.array(opening),
        trench_cost=problem.trench_cost,
    )
