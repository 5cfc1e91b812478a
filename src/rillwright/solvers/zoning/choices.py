"""Every choice of some free heads for a zone, judged at once."""

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.zoning.task import ZoneTask

__all__ = ["choices"]


def choices(
    task: ZoneTask, free: list[int], fixed: list[int], places: list[int], xy: NDArray[np.float64]
) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """For every choice of free heads added to fixed ones: whether the zone is allowed, and its spread [m²]."""
    flow, room = np.zeros(1, dtype=np.int64), np.full(1, np.iinfo(np.int64).max)
    number, first, second = np.zeros(1), np.zeros((1, 2)), np.zeros(1)
    served = np.ones((1, len(places)), dtype=bool)
    for k, h in enumerate([*fixed, *free]):
        more = (
            flow + task.flow[h],
            np.minimum(room, task.capacity[h]),
            number + 1,
            first + xy[h],
            second + float(xy[h] @ xy[h]),
            served & task.legal[places, h],
        )
        if k < len(fixed):
            flow, room, number, first, second, served = more
        else:
            flow, room = np.concatenate([flow, more[0]]), np.concatenate([room, more[1]])
            number, first = np.concatenate([number, more[2]]), np.concatenate([first, more[3]])
            second, served = np.concatenate([second, more[4]]), np.concatenate([served, more[5]])
    allowed = (flow <= room) & (number > 0) & served.any(axis=1)
    return allowed, second - (first**2).sum(axis=1) / np.maximum(number, 1)
