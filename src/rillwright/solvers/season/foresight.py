"""The least water of one season for one who knows its weather: a bound under every programme on the same nights.

Find seconds x(night, zone) >= 0 and depletions 0 <= D(p, t) <= limit(t), least Σ flow · x, such that

    D(p, t) >= D(p, t-1) + need - rain - Σ over zones R(p, z) x(night of t, z)

D may stand above what the soil really lacks, which only tightens later days, so the least D is the true one. One sparse
linear programme by HiGHS. Hours are not counted. What no night can keep is left short, dearly.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import coo_array

from rillwright.errors import SolverError
from rillwright.solvers.season.points import Points
from rillwright.solvers.season.trial import NO_NIGHT, Season

__all__ = ["Foreseen", "foreseen"]

Floats = NDArray[np.float64]

MINUTE, MILLIMETRE = 60.0, 1e-3  # units in which the linear programme is well scaled
SHORTFALL = 1e2  # price of a metre over the limit on one day, in metres of water on all ground


@dataclass(frozen=True, slots=True, eq=False)
class Foreseen:
    """The least water of one season."""

    seconds: Floats  # (nights, zones)
    water: float  # [m³]
    short: float  # [m] by which limits are passed, summed over points and days


def foreseen(season: Season, points: Points, *, flow: Floats) -> Foreseen:
    """Find it.

    Parameters: season of one year, each of its nights a slot of its own; points; flow (zones,) [m³/s].
    Errors: SolverError when the linear programme fails, which is a fault.
    """
    days, zones, count = season.need.shape[1], len(flow), len(points)
    slots = season.slots
    point, day = (a.ravel() for a in np.meshgrid(np.arange(count), np.arange(days), indexing="ij"))
    row = point * days + day
    own = slots * zones + row  # column of D
    lack = slots * zones + count * days + row  # column of the shortfall
    later = day > 0
    slot = season.slot[0][day]
    fed = np.flatnonzero(slot != NO_NIGHT)
    rows, columns, values = (
        [row, row[later]],
        [own, own[later] - 1],
        [np.full(len(row), -1.0), np.ones(int(later.sum()))],
    )
    for zone in range(zones):
        rate = points.rate[point[fed], zone] * MINUTE / MILLIMETRE
        rows, columns, values = [*rows, row[fed]], [*columns, slot[fed] * zones + zone], [*values, -rate]
    rows, columns, values = [*rows, row], [*columns, lack], [*values, np.full(len(row), -1.0)]
    width = slots * zones + 2 * count * days
    matrix = coo_array((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), (len(row), width))
    lacks = points.need[point] * season.need[0, day] - season.rain[0, day] + np.where(later, 0.0, season.start)
    weight = np.tile(flow * MINUTE, slots)
    per_millimetre = flow.sum() * MILLIMETRE / max(float(points.rate.mean()), 1e-12)
    cost = np.concatenate((weight, np.zeros(count * days), np.full(count * days, SHORTFALL * per_millimetre)))
    top = np.concatenate(
        (np.full(slots * zones, np.inf), season.limit[0, day] / MILLIMETRE, np.full(count * days, np.inf))
    )
    solved = linprog(
        cost / weight.max(initial=1e-12),
        A_ub=matrix.tocsr(),
        b_ub=-lacks / MILLIMETRE,
        bounds=np.column_stack((np.zeros(width), top)),
        method="highs",
    )
    if solved.x is None:
        raise SolverError(f"the least water of a season was not found: {solved.message}")
    seconds = np.maximum(solved.x[: slots * zones].reshape(slots, zones), 0.0) * MINUTE
    short = float(np.maximum(solved.x[slots * zones + count * days :], 0.0).sum()) * MILLIMETRE
    return Foreseen(seconds, float((seconds @ flow).sum()), short)
