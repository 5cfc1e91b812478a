"""When seed does well: days whose soil is warm enough and not too warm, with no hard frost in the weeks after.

Soil at 50 mm follows the air's mean of the seven days before, within about 2 K under thin grass (judgement). A frost is
a night of -2 °C or less in measured days; in monthly normals, which hide single nights, a mean night of 2 °C. A day of
the year counts when four years in five agree.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.model.weather import DailyWeather

__all__ = ["Sowing", "sowing_days"]

SOIL_DAYS = 7
FROST, NORMAL_FROST = 271.15, 275.15  # [K]
AGREED = 0.8
SHORTEST = 7  # [days] of a window


@dataclass(frozen=True, slots=True)
class Sowing:
    """A window of days, by month and day."""

    first: str
    last: str
    chance: float  # of the years, on its poorest day


def sowing_days(weather: DailyWeather, *, soil: tuple[float, float], weeks: float) -> tuple[Sowing, ...]:
    """Windows of the year for sowing, in order.

    Parameters: weather; soil [K], lowest and highest in which seed does well; weeks without frost that seedlings need.
    """
    mean = (weather.tmax + weather.tmin) / 2
    before = mean[1 - SOIL_DAYS :] if weather.comes_round else np.full(SOIL_DAYS - 1, np.nan)
    warmth = np.convolve(np.concatenate((before, mean)), np.ones(SOIL_DAYS) / SOIL_DAYS, mode="valid")
    after = _free_of_frost(weather, round(7 * weeks))
    good = (warmth >= soil[0]) & (warmth <= soil[1]) & after
    known = ~np.isnan(warmth) & (np.arange(len(mean)) + round(7 * weeks) < len(mean))
    if weather.comes_round:
        known = np.ones(len(mean), dtype=bool)
    names = np.char.partition(weather.days.astype(str), "-")[:, 2]
    known &= names != "02-29"  # too rare to judge, and no day of most years
    each, where = np.unique(names[known], return_inverse=True)
    share = np.bincount(where, good[known]) / np.bincount(where)
    return tuple(_windows(each, share))


def _free_of_frost(weather: DailyWeather, days: int) -> NDArray[np.bool_]:
    """Whether no frost comes within some days; a usual year is closed to a ring."""
    frost = weather.tmin <= (NORMAL_FROST if weather.normals else FROST)
    ahead = np.concatenate((frost, frost[:days] if weather.comes_round else np.zeros(days, dtype=bool)))
    total = np.concatenate(([0], np.cumsum(ahead)))
    return np.asarray(total[days : days + len(frost)] == total[: len(frost)])


def _windows(names: NDArray[np.str_], share: NDArray[np.float64]) -> list[Sowing]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (share >= AGREED).astype(int), [0])))).reshape(-1, 2)
    return [Sowing(str(names[a]), str(names[b - 1]), float(share[a:b].min())) for a, b in edges if b - a >= SHORTEST]
