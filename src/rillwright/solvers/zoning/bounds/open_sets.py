"""Bounds on the cost of plans by the places that they open, one bound for each set of a few places.

With all places of a set open, a zone is served from the nearest of them: the set is one place, with the shorter of its
trenches to each head and the openings of all. A single programme serves all sets: from one to another only costs
change, so rows and basis stay. What its rows pay for trenches bounds the plans of every other set too, without a
solution of its own: each head takes its cheapest trench, and as many as there are zones come from the set. So most sets
are settled by their neighbours.
"""

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.bounds.programme import Programme
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["SETTLED", "OpenSets"]

SETTLED = 1e-4  # relative gain below which a round or a set has settled
_SETS = 10_000  # at most, beyond single places
_LINKS = 2_000_000  # trenches from sets to heads, at most


class OpenSets:
    """Bounds on the plans that open just the places of a set, of all sets up to a size that may serve all heads.

    `task` has a place for each set, and `size` is the most places in a set.
    """

    def __init__(self, task: ZoneTask, counts: Sequence[int]) -> None:
        places = len(task.opening)
        most, sets = min(_SETS, _LINKS // max(1, len(task.flow))), places
        self.size = 1
        while self.size < places and sets + (more := math.comb(places, self.size + 1)) <= most:
            self.size, sets = self.size + 1, sets + more
        self.task, self.counts = _with_sets(task, self.size), counts
        self.link = self.task.trench_cost * self.task.reach
        self.bounds = np.zeros(len(self.task.opening))
        if len(self.bounds):
            self.programme = Programme(self.task.at_places([0]), counts)
            self._spread(0)  # by rows that pay nothing yet

    @property
    def bound(self) -> float:
        """Least of the bounds [currency]; infinite without a set."""
        return float(self.bounds.min(initial=np.inf))

    def work(self, rounds: int, watch: Watch) -> tuple[int, bool]:
        """Raise the least bound by rounds of solving and cutting, as long as it is the least.

        Returns the rounds, and whether there is reason to go on: the set's bound was raised.
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
        """Raise the bounds that are low by what the rows of the programme's last solution pay, with a set open."""
        worth, heads, value = self.programme.worth, len(self.task.flow), self.programme.value
        low = np.flatnonzero(self.bounds <= value)
        arc = np.minimum((self.programme.cost[:heads] - worth[:heads]).min(axis=0), self.link.max())
        found = value + self.task.opening[low] - self.task.opening[place] + arc.sum()
        for members, count in zip(self.task.groups, self.counts, strict=True):
            own = np.array(members)
            more = self.link[np.ix_(low, own)] - worth[heads, own] - arc[own]
            found += np.partition(more, count - 1, axis=1)[:, :count].sum(axis=1)
        self.bounds[low] = np.maximum(self.bounds[low], found)


def _with_sets(task: ZoneTask, size: int) -> ZoneTask:
    """The task with a place for each set of up to so many places from which every head may be served."""
    far = task.reach.max(initial=0.0) * len(task.flow)  # in place of a trench that is not legal
    reach = np.where(task.legal, task.reach, far)
    reaches, openings = [np.zeros((0, len(task.flow)))], [np.zeros(0)]
    for number in range(1, min(size, len(task.opening)) + 1):
        sets = np.array(list(combinations(range(len(task.opening)), number)))
        sets = sets[task.legal[sets].any(axis=1).all(axis=1)]
        reaches.append(reach[sets].min(axis=1))
        openings.append(task.opening[sets].sum(axis=1))
    reach = np.concatenate(reaches)
    return task.with_places(reach, np.ones_like(reach, dtype=bool), np.concatenate(openings))
