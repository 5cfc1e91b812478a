"""Bounds on the cost of plans that open a single place, one bound for each place.

A single programme serves all places: from one to another only costs change, so rows and basis stay. What its rows pay
for trenches bounds the plans of every other place too, without a solution of its own: each head takes its cheapest
trench, and as many as there are zones come from the place. So most places are settled by their neighbours.
"""

from collections.abc import Sequence

import numpy as np

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.bounds.programme import Programme
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["SETTLED", "OnePlace"]

SETTLED = 1e-4  # relative gain below which a round or a case has settled


class OnePlace:
    """Bounds on the plans that open a single place, of those that may serve all heads."""

    def __init__(self, task: ZoneTask, counts: Sequence[int]) -> None:
        self.task, self.counts = task.at_places(np.flatnonzero(task.legal.all(axis=1))), counts
        self.link = self.task.trench_cost * self.task.reach
        self.bounds = np.zeros(len(self.task.opening))
        if len(self.bounds):
            self.programme = Programme(self.task.at_places([0]), counts)
            self._spread(0)  # by rows that pay nothing yet

    @property
    def bound(self) -> float:
        """Least of the bounds [currency]; infinite without a place."""
        return float(self.bounds.min(initial=np.inf))

    def work(self, rounds: int, watch: Watch) -> tuple[int, bool]:
        """Raise the least bound by rounds of solving and cutting, as long as it is the least.

        Returns the rounds, and whether there is reason to go on: the place's bound was raised.
        """
        place, spent, broken = int(np.argmin(self.bounds)), 0, True
        before = self.bounds[place]
        self.programme.serve_from(float(self.task.opening[place]), self.link[place])
        while broken and spent < rounds and np.argmin(self.bounds) == place and not watch.over():
            spent += 1
            if self.programme.solve(watch) is None:
                break
            self._spread(place)
            broken = self.programme.cut()
        return spent, bool(self.bounds[place] > before * (1 + SETTLED))

    def _spread(self, place: int) -> None:
        """Raise all bounds by what the rows of the programme's last solution pay, with a place open."""
        worth, heads = self.programme.worth, len(self.task.flow)
        arc = np.minimum((self.programme.cost[:heads] - worth[:heads]).min(axis=0), self.link.max())
        found = self.programme.value + self.task.opening - self.task.opening[place] + arc.sum()
        for members, count in zip(self.task.groups, self.counts, strict=True):
            own = list(members)
            more = self.link[:, own] - worth[heads, own] - arc[own]
            found += np.sort(more, axis=1)[:, :count].sum(axis=1)
        self.bounds = np.maximum(self.bounds, found)
