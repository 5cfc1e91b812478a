"""Weather by days and by hours, and monthly normals spread over a year. SI; a value that is not known is NaN."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rillwright.model.findings import Finding

__all__ = ["DailyWeather", "HourlyWeather", "Normals", "Place", "daily_from_normals", "days_of_year"]

Floats = NDArray[np.float64]
Days = NDArray[np.datetime64]

_RAIN_OF_A_DAY = 6e-3  # [m] on a day of rain where the normals do not count such days; judgement


@dataclass(frozen=True, slots=True)
class Place:
    """Where weather was measured; None where the file does not say."""

    latitude: float | None = None  # [°] north positive
    longitude: float | None = None  # [°] east positive
    altitude: float | None = None  # [m] over the sea
    utc_offset: float | None = None  # [h] of its clock, east positive


@dataclass(frozen=True, slots=True, eq=False)
class DailyWeather:
    """Unbroken days; arrays (n,)."""

    source: str
    place: Place
    days: Days  # one after another
    tmax: Floats  # [K] known on every day
    tmin: Floats  # [K] known on every day
    rain: Floats  # [m] known on every day
    vapour_pressure: Floats  # [Pa]
    wind: Floats  # [m/s] at 2 m
    radiation: Floats  # [J/m² a day] global
    sunshine: Floats  # [s] of bright sun
    normals: bool = False  # a usual year made of monthly means: its rain is no band
    wind_by_hour: Floats | None = None  # (12, 24) [m/s] at 2 m, mean of each month and hour; None: only days are told
    comes_round: bool = False  # one year that stands for every: after its last day comes its first
    findings: tuple[Finding, ...] = ()  # what was missing or nonsense, and what stands in its place

    def __len__(self) -> int:
        return len(self.days)

    @property
    def years(self) -> tuple[int, ...]:
        """Calendar years that it holds from the first day to the last."""
        whole = []
        for year in np.unique(self.days.astype("datetime64[Y]")):
            first, last = year.astype("datetime64[D]"), (year + 1).astype("datetime64[D]") - 1
            if self.days[0] <= first and last <= self.days[-1]:
                whole.append(int(str(year)))
        return tuple(whole)

    def between(self, first: np.datetime64, last: np.datetime64) -> "DailyWeather":
        """The days from first to last, both in it."""
        keep = (self.days >= first) & (self.days <= last)
        parts: dict[str, Any] = {name: getattr(self, name)[keep] for name in _BY_DAY}
        return replace(self, **parts)

    def twice(self) -> "DailyWeather":
        """The days, and after them the same again: a usual year that comes round."""
        parts: dict[str, Any] = {name: np.tile(getattr(self, name), 2) for name in _BY_DAY}
        parts["days"] = np.concatenate((self.days, self.days + len(self.days)))
        return replace(self, **parts)


_BY_DAY = ("days", "tmax", "tmin", "rain", "vapour_pressure", "wind", "radiation", "sunshine")


@dataclass(frozen=True, slots=True, eq=False)
class HourlyWeather:
    """Hours, each by its mean; arrays (n,). Times are those of the file's own clock at the hour's end."""

    source: str
    place: Place
    ends: NDArray[np.datetime64]
    temperature: Floats  # [K]
    vapour_pressure: Floats  # [Pa]
    wind: Floats  # [m/s] at 2 m
    radiation: Floats  # [J/m² an hour] global
    rain: Floats  # [m] an hour
    typical: bool = False  # a year that stands for every year
    findings: tuple[Finding, ...] = ()

    def by_day(self) -> DailyWeather:
        """Put whole days together: extremes, means and sums; a day with an hour that is not known has no such value."""
        starts = self.ends - np.timedelta64(1, "h")
        days, where, count = np.unique(starts.astype("datetime64[D]"), return_inverse=True, return_counts=True)
        whole = count == 24
        order = [np.flatnonzero(where == i) for i in np.flatnonzero(whole)]
        hours = np.array(order, dtype=int).reshape(len(order), 24)

        def each(values: Floats) -> Floats:
            return np.asarray(values[hours], dtype=float)

        return DailyWeather(
            source=self.source,
            place=self.place,
            days=days[whole],
            tmax=each(self.temperature).max(axis=1),
            tmin=each(self.temperature).min(axis=1),
            rain=each(self.rain).sum(axis=1),
            vapour_pressure=each(self.vapour_pressure).mean(axis=1),
            wind=each(self.wind).mean(axis=1),
            radiation=each(self.radiation).sum(axis=1),
            sunshine=np.full(len(order), np.nan),
            wind_by_hour=self._wind_by_hour(starts),
            comes_round=self.typical,
            findings=self.findings,
        )

    def _wind_by_hour(self, starts: NDArray[np.datetime64]) -> Floats | None:
        """Means (12, 24) of each month and hour; None unless each of them is there."""
        month = starts.astype("datetime64[M]").astype(int) % 12
        cell = 24 * month + (starts - starts.astype("datetime64[D]")).astype("timedelta64[h]").astype(int)
        count = np.bincount(cell, minlength=288)
        if not count.all():
            return None
        total = np.bincount(cell, self.wind.astype(float), minlength=288).astype(float)
        found: Floats = (total / count).reshape(12, 24)
        return found


@dataclass(frozen=True, slots=True)
class Normals:
    """Means of the twelve months; NaN where not known."""

    source: str
    tmax: tuple[float, ...]  # [K]
    tmin: tuple[float, ...]  # [K]
    rain: tuple[float, ...]  # [m] a month
    rain_days: tuple[float, ...]
    vapour_pressure: tuple[float, ...]  # [Pa]
    wind: tuple[float, ...]  # [m/s] at 2 m
    radiation: tuple[float, ...]  # [J/m² a day]
    sunshine: tuple[float, ...]  # [s] a day


def days_of_year(days: Days) -> Floats:
    """Day of the year, 1 to 366, of each day."""
    return np.asarray((days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(float) + 1, dtype=float)


def daily_from_normals(normals: Normals, *, place: Place, year: int) -> DailyWeather:
    """A usual year: temperatures run smoothly through the months and keep their means, rain falls on even days."""
    first = np.datetime64(f"{year:04d}-01-01")
    days = np.arange(first, np.datetime64(f"{year + 1:04d}-01-01"), dtype="datetime64[D]")
    month = days.astype("datetime64[M]").astype(int) % 12
    return DailyWeather(
        source=normals.source,
        place=place,
        days=days,
        tmax=_smooth(normals.tmax, month),
        tmin=_smooth(normals.tmin, month),
        rain=_rained(normals, month),
        vapour_pressure=_smooth(normals.vapour_pressure, month),
        wind=_smooth(normals.wind, month),
        radiation=_smooth(normals.radiation, month),
        sunshine=_smooth(normals.sunshine, month),
        normals=True,
        comes_round=True,
    )


def _smooth(values: Sequence[float], month: NDArray[np.int64]) -> Floats:
    """Straight lines between the middles of the months, moved so that each month keeps its mean."""
    means = np.asarray(values, dtype=float)
    index = np.arange(len(month), dtype=float)
    middles = np.array([index[month == m].mean() for m in range(12)])
    whole = float(len(month))
    line = np.interp(index, [middles[-1] - whole, *middles, middles[0] + whole], [means[-1], *means, means[0]])
    off = np.array([means[m] - line[month == m].mean() for m in range(12)])
    moved: Floats = line + off[month]
    return moved


def _rained(normals: Normals, month: NDArray[np.int64]) -> Floats:
    rain = np.zeros(len(month))
    for number in range(12):
        days, depth = np.flatnonzero(month == number), normals.rain[number]
        told = normals.rain_days[number]
        count = depth / _RAIN_OF_A_DAY if np.isnan(told) else told
        count = int(min(max(round(count), 1), len(days)))
        wet = days[((np.arange(count) + 0.5) * len(days) / count).astype(int)]
        rain[wet] = depth / count
    return rain
