"""What cannot be weather is left out and named; short gaps are bridged and named, long ones refused."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.model.findings import Finding
from rillwright.model.weather import DailyWeather

__all__ = ["LIMITS", "LONGEST_BRIDGE", "bridged", "mended", "named", "nonsense"]

Floats = NDArray[np.float64]

LONGEST_BRIDGE = 10  # [days] of temperatures that a straight line may stand for; judgement
MOST_NONSENSE = 0.05  # of the days; more says that columns or units are mixed up; judgement
_SHOWN = 5
_RECORDS = "records of the World Meteorological Organization, from memory"

LIMITS = {  # [SI] what no day on earth goes past
    "temperature": (183.0, 330.0),  # [K] records -89.2 and 56.7 °C
    "rain": (0.0, 1.83),  # [m] a day
    "wind": (0.0, 60.0),  # [m/s] mean
    "humidity": (0.0, 1.0),
    "radiation": (0.0, 45e6),  # [J/m²] a day: the most over the air
    "sunshine": (0.0, 86_400.0),  # [s]
}


def named(rule: str, things: Sequence[str], *, what: str, do: str, source: str = "judgement") -> Finding:
    """A finding that lists where a thing is wrong, the first few by name."""
    listed = "; ".join(things[:_SHOWN]) + (f"; and {len(things) - _SHOWN} more" if len(things) > _SHOWN else "")
    return Finding(rule=rule, severity="should", where="weather", what=f"{what}: {listed}.", do=do, source=source)


def nonsense(things: Sequence[str], *, source: str, days: int) -> tuple[Finding, ...]:
    """Name values that were left out. Errors: InputError when they are so many that the table must be mixed up."""
    if not things:
        return ()
    if len(things) > max(MOST_NONSENSE * days, 3):
        listed = "; ".join(things[:_SHOWN])
        raise InputError(
            f"{source}: {len(things)} values cannot be weather: {listed}. Look whether columns or units are mixed up"
        )
    return (
        named(
            "weather-nonsense",
            things,
            what=f"{len(things)} values cannot be weather and are left out",
            do="Correct them in the file, or leave their cells empty.",
            source=_RECORDS,
        ),
    )


def mended(weather: DailyWeather) -> DailyWeather:
    """Make the days unbroken: bridge short gaps of temperature, take no rain where none is told, and name both.

    Errors: InputError for no days, or a gap too long to bridge.
    """
    if len(weather) == 0:
        raise InputError(f"{weather.source}: no whole day is in it")
    days = np.arange(weather.days[0], weather.days[-1] + 1)
    there = np.searchsorted(days, weather.days)

    def spread(values: Floats) -> Floats:
        laid = np.full(len(days), np.nan)
        laid[there] = values
        return laid

    names = ("tmax", "tmin", "rain", "vapour_pressure", "wind", "radiation", "sunshine")
    laid: dict[str, Any] = {name: spread(getattr(weather, name)) for name in names}
    unknown = np.isnan(laid["tmax"]) | np.isnan(laid["tmin"])
    findings = [*weather.findings, *_gaps(unknown, days, weather.source)]
    for name in ("tmax", "tmin"):
        laid[name] = bridged(np.where(unknown, np.nan, laid[name]))
    dry = np.isnan(laid["rain"])
    if any(finding.rule == "weather-rain" for finding in weather.findings):
        pass  # said already
    elif dry.all():
        what, do = (
            "No rain is in the file: none is counted.",
            "Take a file with rain; else more is watered than need be.",
        )
        findings.append(Finding(rule="weather-rain", severity="should", where="weather", what=what, do=do))
    elif dry.any():
        where = [str(day) for day in days[dry]]
        what = f"Rain is not known on {len(where)} days, none is counted on them"
        findings.append(named("weather-rain", where, what=what, do="Fill them in from a station near by."))
    laid["rain"] = np.nan_to_num(laid["rain"])
    return replace(weather, days=days, findings=tuple(findings), **laid)


def bridged(values: Floats) -> Floats:
    """Straight lines over what is not known; the ends keep the nearest value."""
    known = ~np.isnan(values)
    index = np.arange(len(values))
    filled: Floats = np.interp(index, index[known], values[known])
    return filled


def _gaps(unknown: NDArray[np.bool_], days: NDArray[np.datetime64], source: str) -> list[Finding]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], unknown.astype(int), [0]))))
    gaps = [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]
    if not gaps:
        return []
    told = [f"{days[a]}" if b - a == 1 else f"{days[a]} to {days[b - 1]}" for a, b in gaps]
    for (a, b), words in zip(gaps, told, strict=True):
        if b - a > LONGEST_BRIDGE or b - a == len(days):
            raise InputError(
                f"{source}: temperatures of {b - a} days are missing, {words}. At most {LONGEST_BRIDGE} in a row are "
                "bridged: fill them in from a station near by, or leave out the part of the file before or after"
            )
    what = f"Temperatures of {int(unknown.sum())} days are missing and bridged by a straight line"
    return [named("weather-gaps", told, what=what, do="Fill them in from a station near by.")]
