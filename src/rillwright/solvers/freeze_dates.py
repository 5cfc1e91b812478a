"""From a record of weather to dates: the last day to drain, the first to start up.

Statement. Each winter on record gives the day of the season on which a part is first harmed, and the day of the last
harm. Winters without harm have neither: with a share s of winters harmed, 1 year in 20 has harm before the day at which
the first days of the harmed winters stand at 0.05/s. Those days are taken as normal (Thom 1959, from memory, finds
dates of freezes so); the quantile is mean + z sd, its 90 % band by the noncentral t distribution, exact for a normal
sample. With fewer than three harmed winters there is no date. Beside it
stand the record's own earliest day and, where the record is long enough to hold it, the quantile counted off the days
themselves at Weibull's plotting positions i/(n + 1); below 20 winters the words say that the date rests on the law. No
seed. See docs/theory/winter.md.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

__all__ = ["RISK", "Season", "Turning", "split_seasons", "turning"]

Floats = NDArray[np.float64]
Days = NDArray[np.datetime64]

RISK = 0.05  # 1 year in 20
_BAND = 0.90
_LEAST_YEARS = 3
_MOST_MISSING = 10  # days of a season that the record may lack


@dataclass(frozen=True, slots=True)
class Season:
    """One winter with the warm days on both its sides."""

    start: np.datetime64  # first day: 1 July, or 1 January south of the equator
    days: Days
    low: Floats  # [K]
    high: Floats  # [K]

    @property
    def means(self) -> Floats:
        """Daily means (n,) [K], as weather services take them: halfway between the extremes."""
        return (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class Turning:
    """Day of the season, counted from its start, by which harm comes or after which it stays away."""

    years: int
    harmed: int
    median: float | None
    safe: float | None  # quantile at RISK
    low: float | None  # band of that
    high: float | None
    extreme: float | None  # earliest or latest on record
    counted: float | None = None  # quantile off the days themselves, where the record is long enough to hold it


def split_seasons(days: Days, low: Floats, high: Floats, *, southern: bool) -> tuple[Season, ...]:
    """Cut a record into whole winters, each from midsummer to midsummer.

    Parameters: days (n,), rising; low, high (n,) [K], nan where not known; southern, south of the equator. A winter
    with more than ten days missing is left out; the others' gaps are bridged in a straight line.
    """
    found = []
    first, last = int(str(days[0])[:4]), int(str(days[-1])[:4])
    for year in range(first - 1, last + 1):
        starts = f"{year:04d}-01-01" if southern else f"{year:04d}-07-01"
        start = np.datetime64(starts)
        end = np.datetime64(f"{year + 1:04d}{starts[4:]}")
        whole = np.arange(start, end, dtype="datetime64[D]")
        place = np.searchsorted(days, whole)
        known = (place < len(days)) & (days[np.minimum(place, len(days) - 1)] == whole)
        known[known] &= np.isfinite(low[place[known]] + high[place[known]])
        if len(whole) - known.sum() > _MOST_MISSING:
            continue
        number = np.arange(len(whole))
        filled = [np.interp(number, number[known], values[place[known]]) for values in (low, high)]
        found.append(Season(start, whole, *filled))
    return tuple(found)


def turning(days: Sequence[int | None], *, first: bool) -> Turning:
    """The day that RISK of years pass before (first) or after (not first), from one day for each year, None without."""
    known = np.array([day for day in days if day is not None], dtype=float)
    years, harmed = len(days), len(known)
    if harmed == 0:
        return Turning(years, 0, None, None, None, None, None)
    extreme = float(known.min() if first else known.max())
    share = RISK * years / harmed
    if harmed < _LEAST_YEARS or share >= 1:
        return Turning(years, harmed, float(np.median(known)), None, None, None, extreme)
    mean, spread = float(known.mean()), float(known.std(ddof=1))
    quantile = share if first else 1 - share
    z = float(stats.norm.ppf(quantile))
    root = math.sqrt(harmed)
    ends = [
        mean + spread * float(stats.nct.ppf(at, harmed - 1, z * root)) / root
        for at in ((1 - _BAND) / 2, (1 + _BAND) / 2)
    ]
    counted = _counted(np.sort(known), quantile)
    return Turning(years, harmed, float(np.median(known)), mean + z * spread, ends[0], ends[1], extreme, counted)


def _counted(ranked: Floats, quantile: float) -> float | None:
    """The quantile at Weibull's plotting positions i/(n + 1), straight between them; None outside of them."""
    positions = np.arange(1, len(ranked) + 1) / (len(ranked) + 1)
    if not positions[0] <= quantile <= positions[-1]:
        return None
    return float(np.interp(quantile, positions, ranked))
