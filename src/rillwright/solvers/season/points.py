"""Points of the ground that can bind: those that no other point is drier than under every zone.

A point gets R(z) [m/s] while zone z runs. Where another point of the same need gets no more from any zone, its soil is
never drier, so a programme that keeps the other keeps this one. Rates are rounded down to steps of a fiftieth of the
mean first, coarser where many zones overlap, which is on the safe side and makes points alike.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["HOPELESS", "Points", "binding_points", "kept_points"]

Floats = NDArray[np.float64]

HOPELESS = 0.25  # of the lawn's mean; judgement
MOST = 60  # binding points wanted
_STEPS = (50, 25, 12, 6, 4)  # of the mean rate


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Points of the ground under zones."""

    rate: Floats  # (points, zones) [m/s] that reaches the ground
    need: Floats  # (points,) share of the full need, by exposure

    def __len__(self) -> int:
        return len(self.need)


def kept_points(points: Points, *, lawn: NDArray[np.int64], kept: float, relative: Floats) -> Points:
    """Leave out each lawn's driest points, so that a share of it is kept.

    Parameters: points; lawn (points,), the number of each point's lawn; kept, share of the lawn; relative (points,),
    how much water each gets when the lawn's zones run equally long, over the mean. A point that gets less than HOPELESS
    of it is left out too: no programme waters it without drowning the rest.
    """
    keep = np.zeros(len(points), dtype=bool)
    for number in np.unique(lawn):
        own = np.flatnonzero(lawn == number)
        drop = int((1 - kept) * len(own) + 1e-9)
        keep[own[np.argsort(relative[own], kind="stable")[drop:]]] = True
    keep &= relative >= HOPELESS
    return Points(points.rate[keep], points.need[keep])


def binding_points(points: Points) -> Points:
    """The points that no other makes superfluous; coarser steps where many zones overlap and they are too many."""
    if len(points) == 0:
        return points
    mean = points.rate[points.rate > 0].mean() if (points.rate > 0).any() else 1.0
    for steps in _STEPS:
        found = _least(points, mean / steps)
        if len(found) <= MOST:
            break
    return found


def _least(points: Points, step: float) -> Points:
    rows = np.unique(np.column_stack((-points.need, np.floor(points.rate / step))), axis=0)
    rows = rows[np.argsort(rows[:, 1:].sum(axis=1), kind="stable")]
    kept = np.empty_like(rows)
    count = 0
    for row in rows:  # a point is drier than another only when it comes before it in this order
        if not (kept[:count] <= row).all(axis=1).any():
            kept[count] = row
            count += 1
    return Points(kept[:count, 1:] * step, -kept[:count, 0])
