"""Every choice of some free heads for a zone, judged at once."""

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["choices"]


def choices(
    task: ZoneTask, free: list[int], fixed: list[int], places: list[int], xy: NDArray[np.float64]
) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """For every choice of free heads added to fixed ones: whether the zone is allowed, and its spread [m²]."""
    from rillwright.solvers.zoning.choice_kernel import choose

    heads = [*fixed, *free]
    flow, room = np.array([task.flow[h] for h in heads]), np.array([task.capacity[h] for h in heads])
    legal, at = task.legal[np.ix_(places, heads)], xy[heads]
    allowed, spread = np.empty(1 << len(free), dtype=bool), np.empty(1 << len(free))
    choose(len(fixed), flow, room, legal, at, allowed, spread)
    return allowed, spread
