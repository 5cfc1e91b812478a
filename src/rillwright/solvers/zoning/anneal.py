"""Annealing of zones: one or two heads change sides with none, one or two of a neighbouring zone.

Overload is allowed on the way at a price, and only lawful zones are kept. The compiled kernel tries a fixed number of
moves at each temperature, so that the same seed gives the same zones on any machine.
Source: Kirkpatrick, Gelatt and Vecchi, Optimization by simulated annealing, Science 220 (1983), from memory.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["annealed"]

Zone = tuple[int, ...]

_NEAR = 12  # nearest heads of the same group, through which a head meets other zones
_HOT, _COLD = 0.6, 0.02  # temperatures, in the trench between neighbours
_STEPS = 40  # temperatures
_MOVES = 300  # at each temperature, for each head
_OVERLOAD = (100.0, 1000.0)  # price of one zone's whole capacity too much, hot and cold, in the same


def annealed(task: ZoneTask, zones: Sequence[Zone], places: Sequence[int], *, seed: int, watch: Watch) -> list[Zone]:
    """Zones of lower cost at open places, as many of each group; those given when none was found."""
    from rillwright.solvers.zoning.anneal_kernel import anneal

    near, between = _near(task), task.between
    home = np.zeros(len(task.flow), dtype=np.int64)
    for number, zone in enumerate(zones):
        home[list(zone)] = number
    apart = [float(between[h, near[h, 0]]) for h in range(len(home)) if near[h, 0] >= 0]
    arc = task.trench_cost * float(np.median(apart)) if apart else 0.0
    reach, legal = _sorts_of_place(task, places)
    yard = (between, reach, legal, np.array(task.flow), np.array(task.capacity), task.trench_cost)
    best, least, chance = home.copy(), np.inf, np.random.default_rng(seed)
    steps = zip(np.geomspace(_HOT, _COLD, _STEPS), np.geomspace(*_OVERLOAD, _STEPS), strict=True)
    for temperature, overload in steps if arc > 0 else ():
        if watch.over():
            break
        draws = chance.random((_MOVES * len(home), 7))
        found, cost = anneal(home, near, (*yard, overload * arc), float(temperature * arc), draws)
        if cost < least:
            best, least = found, cost
    return [tuple(int(h) for h in np.flatnonzero(best == number)) for number in range(len(zones))]


def _sorts_of_place(task: ZoneTask, places: Sequence[int]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Trench to each head from the nearest of the places that may serve the same heads, and which heads these are."""
    legal, sort = np.unique(task.legal[list(places)], axis=0, return_inverse=True)
    reach = np.full(legal.shape, np.inf)
    np.minimum.at(reach, sort.ravel(), task.reach[list(places)])
    return reach, legal


def _near(task: ZoneTask) -> NDArray[np.int64]:
    """Heads of the same group nearest to each head; -1 where there are fewer."""
    near = np.full((len(task.flow), _NEAR), -1)
    for members in task.groups:
        order = np.array(members)
        apart = task.between[np.ix_(order, order)].copy()
        np.fill_diagonal(apart, np.inf)
        ranked = order[np.argsort(apart, axis=1, kind="stable")][:, : min(_NEAR, len(order) - 1)]
        near[order, : ranked.shape[1]] = ranked
    return near
