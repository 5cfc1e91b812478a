"""Weather tables: a line for each day, or one for each month of a usual year. Units stand in the column names."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from rillwright.data.tables import Row, read_user_table
from rillwright.errors import InputError, TableError
from rillwright.exchange.weather.mend import LIMITS, nonsense
from rillwright.model.weather import DailyWeather, Normals, Place
from rillwright.physics.evapotranspiration import ZERO_CELSIUS, saturation_pressure, wind_at_two_metres
from rillwright.physics.units import INCH

__all__ = ["COLUMNS", "is_normals", "read_daily", "read_normals"]

Floats = NDArray[np.float64]


def _celsius(value: float) -> float:
    return value + ZERO_CELSIUS


def _fahrenheit(value: float) -> float:
    return (value - 32) * 5 / 9 + ZERO_CELSIUS


def _times(factor: float) -> Callable[[float], float]:
    return lambda value: value * factor


MPH, KMH = 1609.344 / 3600, 1 / 3.6  # [m/s]
HIGH_WIND = float(wind_at_two_metres(1.0, height=10.0))  # of the wind at 10 m


@dataclass(frozen=True, slots=True)
class Column:
    """A quantity of the table: the limits that hold for it, and its names, each with what makes SI of a number."""

    limits: str
    names: dict[str, Callable[[float], float]]


_WINDS = {"m_per_s": 1.0, "km_per_h": KMH, "mph": MPH}
COLUMNS = {
    "tmax": Column("temperature", {"tmax_c": _celsius, "tmax_f": _fahrenheit}),
    "tmin": Column("temperature", {"tmin_c": _celsius, "tmin_f": _fahrenheit}),
    "rain": Column("rain", {"rain_mm": _times(1e-3), "rain_in": _times(INCH)}),
    "dew": Column("temperature", {"dew_c": _celsius, "dew_f": _fahrenheit}),
    "humidity": Column("humidity", {"humidity_percent": _times(0.01)}),
    "wettest": Column("humidity", {"humidity_max_percent": _times(0.01)}),
    "driest": Column("humidity", {"humidity_min_percent": _times(0.01)}),
    "wind": Column(
        "wind",
        {f"wind_{unit}": _times(factor) for unit, factor in _WINDS.items()}
        | {f"wind_10m_{unit}": _times(factor * HIGH_WIND) for unit, factor in _WINDS.items()},
    ),
    "radiation": Column("radiation", {"radiation_mj_per_m2": _times(1e6), "radiation_w_per_m2": _times(86_400.0)}),
    "sunshine": Column("sunshine", {"sunshine_h": _times(3600.0)}),
}
_NEEDED, _SPARE = ("tmax", "tmin"), ("rain", "dew", "humidity", "wettest", "driest", "wind", "radiation", "sunshine")


def is_normals(path: Path) -> bool:
    """Whether the header of a table names months rather than days."""
    try:
        with path.open(encoding="utf-8-sig", errors="replace") as file:
            return "month" in [cell.strip() for cell in file.readline(10_000).split(",")]
    except OSError as error:
        raise TableError(f"{path}: cannot be opened: {error.strerror}. Give the path of a CSV file") from None


def read_daily(path: Path) -> DailyWeather:
    """Read a table of days as it stands; values that cannot be weather are NaN, and named.

    Errors: TableError for what cannot be read; InputError for a day that is there twice, or nonsense all over.
    """
    table = read_user_table(path, [("date",), *_names(_NEEDED)], optional=_names(_SPARE))
    rows, days = _in_order(table)
    wrong: list[str] = []
    read = {name: np.array([_cell(row, name, wrong) for row in rows]) for name in COLUMNS}
    for i in np.flatnonzero(read["tmin"] > read["tmax"]):
        wrong.append(f"line {rows[i].line}: the coldest of {days[i]} is above the warmest")
        read["tmin"][i] = read["tmax"][i] = np.nan
    return DailyWeather(
        source=path.name,
        place=Place(),
        days=days,
        tmax=read["tmax"],
        tmin=read["tmin"],
        rain=read["rain"],
        vapour_pressure=_vapour(read),
        wind=read["wind"],
        radiation=read["radiation"],
        sunshine=read["sunshine"],
        findings=nonsense(wrong, source=str(path), days=len(days)),
    )


def read_normals(path: Path) -> Normals:
    """Read a table of twelve months. Errors: TableError, with the line, for what cannot be read or is no weather."""
    rain = tuple(COLUMNS["rain"].names)
    rows = read_user_table(path, [("month",), *_names(_NEEDED), rain], optional=[("rain_days",), *_names(_SPARE[1:])])
    by_month = {int(row.number("month", low=1, high=12)): row for row in rows}
    if sorted(by_month) != list(range(1, 13)) or len(rows) != 12:
        raise TableError(f"{path}: write one line for each month from 1 to 12; {len(rows)} lines stand there")
    wrong: list[str] = []
    months = [by_month[month] for month in range(1, 13)]
    read = {name: np.array([_cell(row, name, wrong) for row in months]) for name in COLUMNS}
    wrong += [f"month {i + 1}: tmin is above tmax" for i in np.flatnonzero(read["tmin"] > read["tmax"])]
    wrong += [f"month {i + 1}: {n} is missing" for n in (*_NEEDED, "rain") for i in np.flatnonzero(np.isnan(read[n]))]
    if wrong:
        raise TableError(f"{path}: {'; '.join(wrong)}")
    days = [row.optional("rain_days", low=0, high=31) if "rain_days" in row.cells else None for row in months]
    return Normals(
        source=path.name,
        tmax=tuple(read["tmax"]),
        tmin=tuple(read["tmin"]),
        rain=tuple(read["rain"]),
        rain_days=tuple(np.nan if d is None else d for d in days),
        vapour_pressure=tuple(_vapour(read)),
        wind=tuple(read["wind"]),
        radiation=tuple(read["radiation"]),
        sunshine=tuple(read["sunshine"]),
    )


def _names(columns: tuple[str, ...]) -> list[tuple[str, ...]]:
    return [tuple(COLUMNS[name].names) for name in columns]


def _in_order(rows: tuple[Row, ...]) -> tuple[list[Row], NDArray[np.datetime64]]:
    """Rows by date. Errors: TableError for a date that cannot be read; InputError for one that is there twice."""
    by_day: dict[date, Row] = {}
    for row in rows:
        try:
            day = date.fromisoformat(row.cells["date"])
        except ValueError:
            raise row.error("date", "write a date as YEAR-MONTH-DAY, such as 2024-07-01") from None
        if day in by_day:
            raise InputError(f"{row.file}: {day} stands on line {by_day[day].line} and on line {row.line}: keep one")
        by_day[day] = row
    ordered = sorted(by_day)
    return [by_day[day] for day in ordered], np.array(ordered, dtype="datetime64[D]")


def _cell(row: Row, name: str, wrong: list[str]) -> float:
    """One value in SI; NaN where it is empty, or nonsense, which is then noted."""
    column = COLUMNS[name]
    for header, to_si in column.names.items():
        number = row.optional(header) if header in row.cells else None
        if number is not None:
            low, high = LIMITS[column.limits]
            if low - 1e-9 <= to_si(number) <= high * (1 + 1e-9):
                return to_si(number)
            wrong.append(f"line {row.line}: {header} {row.cells[header]}")
    return float("nan")


def _vapour(read: dict[str, Floats]) -> Floats:
    """Vapour pressure [Pa] from dew point, both extremes of humidity, or its mean: FAO-56 equations 14, 17, 19."""
    warm, cold = saturation_pressure(read["tmax"]), saturation_pressure(read["tmin"])
    by_dew = np.minimum(saturation_pressure(read["dew"]), warm)
    by_both = (cold * read["wettest"] + warm * read["driest"]) / 2
    by_mean = read["humidity"] * (warm + cold) / 2
    first = np.where(np.isnan(by_dew), by_both, by_dew)
    return np.where(np.isnan(first), by_mean, first)
