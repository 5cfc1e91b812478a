"""Lower bound on the cost of any plan with the fewest zones.

Places used, zones' trees and the trenches between them make a tree out of the water entry in which every head has one
trench coming in: a capacitated tree with places to open. Its linear relaxation, tightened by capacity cuts (a set of
heads that needs k zones has at least k trenches coming in), bounds every plan from below.
Source: capacity cuts of the capacitated spanning tree, Toth and Vigo, Networks 26 (1995), from memory.
"""

import math
import time
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.zone_task import ZoneTask

__all__ = ["cost_bound"]

_ROUNDS = 60
_CUTS = 60  # in one round
_LEAST = 1e-4  # relative gain of a round below which the bound has settled


def cost_bound(task: ZoneTask, counts: Sequence[int], *, deadline: float) -> float | None:
    """Bound [currency] on openings and trenches, with counts[g] zones in group g; None when none was reached.

    Each round's programme is a relaxation, so the bound holds whenever the rounds stop.
    """
    programme = _Programme(task, counts)
    best: float | None = None
    slow = 0
    for _ in range(_ROUNDS):
        value = programme.solve(deadline)
        if value is None:
            break
        slow = slow + 1 if best is not None and value < best + _LEAST * abs(best) else 0
        best = value if best is None else max(best, value)
        if time.monotonic() > deadline or slow >= 3 or not programme.cut():
            break
    return best


class _Programme:
    """The linear programme, kept between rounds so that each starts from the last."""

    def __init__(self, task: ZoneTask, counts: Sequence[int]) -> None:
        from ortools.linear_solver import pywraplp

        self.task = task
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.inner = {
            (i, j): self._share(task.trench_cost * task.between[i][j])
            for members in task.groups
            for i in members
            for j in members
            if i != j
        }
        self.places = self._useful_places()
        self.outer = {
            (p, h): self._share(task.trench_cost * float(task.reach[p, h]))
            for p in self.places
            for h in range(len(task.flow))
            if task.legal[p, h]
        }
        self.open = {p: self._share(float(task.opening[p])) for p in self.places}
        self.value_in: dict[tuple[int, int], float] = {}
        self.value_out: dict[tuple[int, int], float] = {}
        self.value_open: dict[int, float] = {}
        self.linked: set[tuple[int, int]] = set()
        self.seen: set[frozenset[int]] = set()
        self._first_rows(counts)

    def _share(self, cost: float) -> Any:
        variable = self.solver.NumVar(0.0, 1.0, "")
        self.solver.Objective().SetCoefficient(variable, cost)
        return variable

    def _useful_places(self) -> list[int]:
        """Places that are not worse than another in every respect."""
        task, kept = self.task, []
        for p in range(len(task.opening)):
            cost = np.where(task.legal[p], task.reach[p], np.inf)
            worse = [
                q
                for q in range(len(task.opening))
                if q != p
                and task.opening[q] <= task.opening[p]
                and bool((np.where(task.legal[q], task.reach[q], np.inf) <= cost).all())
                and (q < p or task.opening[q] < task.opening[p] or not np.array_equal(task.reach[q], task.reach[p]))
            ]
            if not worse and task.legal[p].any():
                kept.append(p)
        return kept

    def _first_rows(self, counts: Sequence[int]) -> None:
        task, add = self.task, self.solver.Add
        zones = sum(counts)
        for members, count in zip(task.groups, counts, strict=True):
            for h in members:
                inner = [self.inner[i, h] for i in members if i != h]
                add(sum([*inner, *(self.outer[p, h] for p in self.places if (p, h) in self.outer)]) == 1)
            add(sum(self.outer[p, h] for p in self.places for h in members if (p, h) in self.outer) == count)
            for i in members:
                for j in members:
                    if i < j:
                        add(self.inner[i, j] + self.inner[j, i] <= (1 if self._together(i, j) else 0))
        for p in self.places:
            add(sum(self.outer[p, h] for h in range(len(task.flow)) if (p, h) in self.outer) <= zones * self.open[p])
        add(sum(self.open.values()) >= 1)

    def _together(self, i: int, j: int) -> bool:
        return self.task.fits((i, j))

    def solve(self, deadline: float) -> float | None:
        """Value of the programme as it stands, or None when time ran out."""
        self.solver.SetTimeLimit(max(50, int(1000 * (deadline - time.monotonic()))))
        if self.solver.Solve() != self.solver.OPTIMAL:
            return None
        self.value_in = {arc: share.solution_value() for arc, share in self.inner.items()}
        self.value_out = {arc: share.solution_value() for arc, share in self.outer.items()}
        self.value_open = {p: share.solution_value() for p, share in self.open.items()}
        return float(self.solver.Objective().Value())

    def cut(self) -> bool:
        """Add the broken rows; says whether there were any."""
        links = [
            (p, h)
            for (p, h), share in self.value_out.items()
            if (p, h) not in self.linked and share > self.value_open[p] + 1e-6
        ]
        for p, h in links:
            self.linked.add((p, h))
            self.solver.Add(self.outer[p, h] <= self.open[p])
        cuts = [cut for members in self.task.groups for cut in self._broken(members)]
        cuts.sort(key=lambda cut: (-cut[0], sorted(cut[1])))
        for _, inside, most in cuts[:_CUTS]:
            self.seen.add(inside)
            self.solver.Add(sum(self.inner[i, j] for i in inside for j in inside if i != j) <= most)
        return bool(links or cuts)

    def _broken(self, members: Sequence[int]) -> list[tuple[float, frozenset[int], int]]:
        """Sets with more trench inside than their heads less their zones allow, grown greedily from every head."""
        order = list(members)
        weight = np.array([[self._weight(i, j) for j in order] for i in order])
        found: dict[frozenset[int], tuple[float, int]] = {}
        for start in range(len(order)):
            self._grow(order, weight, start, found)
        return [(excess, inside, most) for inside, (excess, most) in found.items() if inside not in self.seen]

    def _weight(self, i: int, j: int) -> float:
        if i == j:
            return 0.0
        return self.value_in[i, j] + self.value_in[j, i]

    def _grow(
        self,
        order: list[int],
        weight: NDArray[np.float64],
        start: int,
        found: dict[frozenset[int], tuple[float, int]],
    ) -> None:
        inside, held = [start], 0.0
        pull = weight[start].copy()
        size = self.task.flow[order[start]] / self.task.capacity[order[start]]
        pull[start] = -1.0
        for _ in range(len(order) - 1):
            nearest = int(np.argmax(pull))
            if pull[nearest] <= 1e-6:
                break
            held += float(pull[nearest])
            inside.append(nearest)
            size += self.task.flow[order[nearest]] / self.task.capacity[order[nearest]]
            pull = np.where(pull < 0, -1.0, pull + weight[nearest])
            pull[nearest] = -1.0
            most = len(inside) - max(1, math.ceil(size - 1e-9))
            if held > most + 1e-4:
                found[frozenset(order[k] for k in inside)] = (held - most, most)
