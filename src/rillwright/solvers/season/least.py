"""The least water that keeps every point of the ground within its limit over whole seasons, proven.

Find seconds x(slot, zone) >= 0 of a night, least Σ weight · x, such that in every year, on every day t, at every point
p

    D(p, t) = max over s < t of  Σ over s..t of (need - rain - Σ over zones R(p, z) x(slot, z))   <=  limit(t)

and a night's runs together fit the hours. D is a maximum of sums, so each (year, point, s, t) is one linear row. There
are millions, nearly all slack: they are added as they are broken. The programme at hand is tried on all years and
points; where the limit is passed, the row from the last day on which the soil was full is added; and the linear
programme is solved again, until no limit is passed. Rows only ever come on, so each solution is a lower bound, and the
last is the optimum. Where hours or nights do not suffice, the shortfall of a point in a slot is paid dearly: the least
shortfall comes first, then least water.

By a method of cutting planes (Kelley 1960); HiGHS solves each programme. With `step` the seconds are whole multiples.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, hstack, vstack

from rillwright.errors import SolverError
from rillwright.solvers.season.points import Points
from rillwright.solvers.season.trial import NO_NIGHT, Season, tried

__all__ = ["Least", "least_water"]

Floats = NDArray[np.float64]

MOST_ROUNDS = 80
TOLERANCE = 1e-5  # [m] that depletion may pass its limit by in the solution
MINUTE, MILLIMETRE = 60.0, 1e-3  # units in which the linear programme is well scaled
SHORTFALL = 1e2  # price of a metre over the limit, in metres of water on all ground and every night


@dataclass(frozen=True, slots=True, eq=False)
class Least:
    """The programme of least water."""

    seconds: Floats  # (slots, zones) of a night
    cost: float  # Σ weight · seconds
    short: Floats  # (slots, points) [m] by which limits are passed because nights or hours do not suffice
    status: Literal["optimal", "short", "rounds used up"]
    rounds: int
    rows: int
    over: float  # [m] by which a limit is passed still, beyond the shortfall: 0 but when the rounds are used up


def least_water(
    season: Season, points: Points, *, weight: Floats, hours: float, step: float = 0.0, most_rounds: int = MOST_ROUNDS
) -> Least:
    """Find the programme.

    Parameters: season; points; weight (slots, zones), cost of a second, such as flow times nights; hours [s] that a
    night's runs may take together; step [s] of which the seconds are multiples, 0 for any; most_rounds.
    Errors: SolverError when the linear programme fails, which is a fault.
    """
    slots, zones = weight.shape
    count, spare = slots * zones, slots * len(points)
    nights = np.zeros((*season.slot.shape, slots))
    held = season.slot != NO_NIGHT
    nights[(*np.nonzero(held), season.slot[held])] = 1
    nights = np.concatenate((np.zeros((len(nights), 1, slots)), nights.cumsum(axis=1)), axis=1)
    lacking = np.concatenate(
        (np.zeros((*season.need.shape[:1], 1, 2)), np.stack((season.need, season.rain), axis=2).cumsum(axis=1)), axis=1
    )
    unit = step or MINUTE
    scale = weight.max() * unit
    price = SHORTFALL * weight.sum() / max(float(points.rate.mean()), 1e-12) * MILLIMETRE / scale
    cost = np.concatenate((weight.ravel() * unit / scale, np.full(spare, price)))
    fits = hstack([csr_array(np.kron(np.eye(slots), np.ones(zones))), csr_array((slots, spare))])
    into = np.concatenate((np.full(count, unit / MILLIMETRE), np.ones(spare)))  # of a row, into the solver's units
    matrix, low = csr_array((0, count + spare)), np.empty(0)
    whole = np.concatenate((np.full(count, 1 if step else 0), np.zeros(spare)))
    seconds, short = np.zeros((slots, zones)), np.zeros((slots, len(points)))
    for number in range(1, most_rounds + 1):
        over = _passed(season, points, seconds, short)
        if over.amount.max(initial=-1.0) <= TOLERANCE:
            return _kept(seconds, weight, short, number, matrix.shape[0])
        rows, least = _rows(over, season, points, nights, lacking)
        matrix, low = vstack([matrix, rows.multiply(into)], format="csr"), np.concatenate((low, least / MILLIMETRE))
        solved = milp(
            cost,
            constraints=[LinearConstraint(matrix, lb=low), LinearConstraint(fits, ub=hours / unit)],
            integrality=whole,
            bounds=Bounds(0, np.inf),
            options={"mip_rel_gap": 1e-6},
        )
        if solved.x is None:
            raise SolverError(f"the season's programme of {matrix.shape[0]} rows was not solved: {solved.message}")
        seconds = np.maximum(solved.x[:count].reshape(slots, zones), 0.0) * unit + 0.0
        short = np.maximum(solved.x[count:].reshape(slots, -1), 0.0) * MILLIMETRE
    left = float(_passed(season, points, seconds, short).amount.max(initial=-1.0))
    if left <= TOLERANCE:
        return _kept(seconds, weight, short, most_rounds, matrix.shape[0])
    cost_now = float((weight * seconds).sum())
    return Least(seconds, cost_now, short, "rounds used up", most_rounds, matrix.shape[0], left)


def _kept(seconds: Floats, weight: Floats, short: Floats, rounds: int, rows: int) -> Least:
    """The least there is, since no limit is passed beyond the shortfall."""
    status: Literal["optimal", "short"] = "short" if short.max() > TOLERANCE else "optimal"
    return Least(seconds, float((weight * seconds).sum()), short, status, rounds, rows, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class _Passed:
    """By how much the limit is passed, at the worst point of each year and day; arrays (years, days)."""

    amount: Floats  # [m] beyond the shortfall
    point: NDArray[np.int64]
    since: NDArray[np.int64]  # first day of the sum
    belongs: NDArray[np.int64]  # slot that a day's dryness is put down to: that of the last night


def _passed(season: Season, points: Points, seconds: Floats, short: Floats) -> _Passed:
    trial = tried(season, points, seconds)
    days = np.arange(season.slot.shape[1])
    last = np.maximum.accumulate(np.where(season.slot != NO_NIGHT, days, -1), axis=1)
    belongs = np.where(last >= 0, np.take_along_axis(season.slot, np.maximum(last, 0), axis=1), NO_NIGHT)
    over = trial.over(season) - np.vstack((short, np.zeros(short.shape[1])))[belongs]
    worst = over.argmax(axis=2)

    here = worst[:, :, None]
    passed = np.take_along_axis(over, here, axis=2)[:, :, 0]
    since = np.take_along_axis(trial.since, here, axis=2)[:, :, 0] + 1
    amount = np.where(belongs == NO_NIGHT, -np.inf, passed)
    return _Passed(amount, worst, since, belongs)


def _rows(over: _Passed, season: Season, points: Points, nights: Floats, lacking: Floats) -> tuple[csr_array, Floats]:
    """Rows for the limits that are passed: of each year and slot the worst day and point."""
    slots, zones = nights.shape[2], points.rate.shape[1]
    columns, values, low = [], [], []
    for year in range(len(over.amount)):
        for slot in np.unique(over.belongs[year]):
            days = np.flatnonzero(over.belongs[year] == slot)
            day = int(days[over.amount[year, days].argmax()])
            if over.amount[year, day] <= TOLERANCE:
                continue
            point, since = int(over.point[year, day]), int(over.since[year, day])
            counted = nights[year, day + 1] - nights[year, since]
            need, rain = lacking[year, day + 1] - lacking[year, since]
            fed = np.outer(counted, points.rate[point]).ravel()
            used = np.flatnonzero(fed)
            columns.append(np.append(used, slots * zones + slot * len(points) + point))
            values.append(np.append(fed[used], 1.0))
            begun = season.start if since == 0 else 0.0
            low.append(begun + need * points.need[point] - rain - season.limit[year, day])
    starts = np.concatenate(([0], np.cumsum([len(own) for own in columns])))
    shape = (len(low), slots * (zones + len(points)))
    return csr_array((np.concatenate(values), np.concatenate(columns), starts), shape=shape), np.array(low)
