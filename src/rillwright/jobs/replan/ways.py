"""Ways for new pipe: along the trenches of the plan, as they stand, or through fresh ground.

A graph of the plan's nodes. Along a pipe of the plan the digging is what of its trenches is closed; between near nodes
that see each other a fresh trench may be dug. The least-cost way is Dijkstra's.
"""

import heapq
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy.spatial import cKDTree

from rillwright.jobs.pipework import usual_price
from rillwright.jobs.replan.job import Job
from rillwright.model.plan import Point, Trench
from rillwright.solvers.routing.surfaces import dig_ground

__all__ = ["Way", "Ways"]

NEAR = 10  # nearest nodes that a fresh trench is offered to
_SPOT = 2  # decimals of a metre to which nodes at one spot are the same


@dataclass(frozen=True, slots=True)
class Way:
    """A way for one pipe."""

    path: tuple[Point, ...]
    within: tuple[str, ...]  # trenches it lies in
    fresh: Mapping[str, Trench]  # those of them that are new


@dataclass(frozen=True, slots=True)
class _Step:
    to: Point
    cost: float
    path: tuple[Point, ...]
    within: tuple[str, ...]
    fresh: tuple[Trench, ...]


class Ways:
    """The ways of one job."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._price = usual_price(job.case).lateral + job.worth({"pipe laid": 1.0})

    def between(self, start: str, end: str) -> Way | None:
        """The cheapest way from one node of the plan to another; None where there is none."""
        nodes = self._job.base.nodes
        goal, root = _spot(nodes[end].at), _spot(nodes[start].at)
        cost: dict[Point, float] = {root: 0.0}
        came: dict[Point, tuple[Point, _Step]] = {}
        queue = [(0.0, root)]
        while queue:
            far, here = heapq.heappop(queue)
            if here == goal:
                return _written(here, came, root, nodes[start].at, nodes[end].at)
            if far > cost[here]:
                continue
            for step in self._steps.get(here, ()):
                total = far + step.cost
                if total < cost.get(step.to, math.inf) - 1e-9:
                    cost[step.to], came[step.to] = total, (here, step)
                    heapq.heappush(queue, (total, step.to))
        return None

    @cached_property
    def _steps(self) -> dict[Point, list[_Step]]:
        found: dict[Point, list[_Step]] = {}
        nodes, trenches = self._job.base.nodes, self._job.base.trenches
        for pipe in self._job.base.pipes:
            within = self._job.base.within[pipe.id]
            dug = sum(self._job.digging(trenches[name]) for name in within if self._job.closed(name))
            one, two = _spot(nodes[pipe.start].at), _spot(nodes[pipe.end].at)
            cost = dug + self._price * pipe.length
            found.setdefault(one, []).append(_Step(two, cost, pipe.path, within, ()))
            found.setdefault(two, []).append(_Step(one, cost, pipe.path[::-1], within[::-1], ()))
        for one, two, price, fresh in self._sights():
            cost = price + self._price * math.dist(one, two)
            for a, b in ((one, two), (two, one)):
                found.setdefault(a, []).append(_Step(b, cost, (a, b), tuple(t.id for t in fresh), fresh))
        return found

    def _sights(self) -> Sequence[tuple[Point, Point, float, tuple[Trench, ...]]]:
        """Straight fresh trenches between near nodes: both ends, cost of digging, the trench by surface."""
        job = self._job
        spots = sorted({_spot(node.at) for node in job.base.nodes.values()})
        dig = dig_ground(job.case.ground, job.case.catalogue.trenches, points=spots)
        at = np.array(spots)
        rows = cKDTree(at).query(at, k=[*range(2, min(NEAR + 1, len(spots)) + 1)])[1] if len(spots) > 1 else []
        pairs = sorted({(min(i, int(j)), max(i, int(j))) for i, row in enumerate(rows) for j in row})
        if not pairs:
            return []
        clear = dig.clear(shapely.linestrings(at[np.array(pairs)]))
        found = []
        for (i, j), free in zip(pairs, clear.tolist(), strict=True):
            if free:
                fresh = []
                long = math.dist(spots[i], spots[j])
                for number, (layer, low, high) in enumerate(dig.pieces(spots[i], spots[j])):
                    path = tuple(tuple((np.array(spots[i]) + (at[j] - at[i]) * s / long).tolist()) for s in (low, high))
                    fresh.append(
                        Trench(
                            id=f"N{i}-{j}{'abcdefghij'[min(number, 9)]}",
                            path=(path[0], path[1]),
                            surface=layer.name,
                            length=high - low,
                            pipes=(),
                            sleeve=layer.name == "paving",
                            cost=(high - low) * layer.per_metre + layer.per_crossing,
                        )
                    )
                found.append((spots[i], spots[j], sum(map(job.digging, fresh)), tuple(fresh)))
        return found


def _spot(at: Point) -> Point:
    return round(at[0], _SPOT), round(at[1], _SPOT)


def _written(end: Point, came: Mapping[Point, tuple[Point, _Step]], root: Point, first: Point, last: Point) -> Way:
    steps: list[_Step] = []
    while end != root:
        end, step = came[end]
        steps.append(step)
    steps.reverse()
    path: list[Point] = [first]
    for step in steps:
        path += [at for at in step.path if math.dist(at, path[-1]) > 0.02]
    path = [first, *path[1:-1], last] if len(path) > 1 else [first, last]
    within = tuple(dict.fromkeys(name for step in steps for name in step.within))
    return Way(tuple(path), within, {trench.id: trench for step in steps for trench in step.fresh})
