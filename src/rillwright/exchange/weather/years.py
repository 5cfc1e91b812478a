"""Hourly weather years: EPW and TMY3, read by pvlib, checked here."""

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError, TableError
from rillwright.exchange.weather.mend import LIMITS, bridged, named, nonsense
from rillwright.model.findings import Finding
from rillwright.model.weather import HourlyWeather, Place
from rillwright.physics.evapotranspiration import ZERO_CELSIUS, saturation_pressure, wind_at_two_metres

__all__ = ["is_hourly", "read_hourly"]

Floats = NDArray[np.float64]

TYPICAL_YEAR = 2025  # that the months of a typical year, each from another, are laid out on: no leap year
WIND_HEIGHT = 10.0  # [m] of the wind in both formats
LONGEST_BRIDGE = 6  # [h]; judgement
MISSING_RAIN = 300.0  # [mm] in an hour and more stands for 'not known'
MOST_RAIN = 4.0  # [m] a year; few places on earth have more
_RAIN = {"tmy3": "Lprecip depth (mm)", "epw": "liquid_precipitation_depth"}


def is_hourly(path: Path) -> bool:
    """Whether a file is an EPW or a TMY3 year."""
    if path.suffix.lower() == ".epw":
        return True
    try:
        with path.open(encoding="utf-8-sig", errors="replace") as file:
            file.readline(10_000)
            return file.readline(10_000).startswith("Date (MM/DD/YYYY),Time (HH:MM)")
    except OSError as error:
        raise TableError(f"{path}: cannot be opened: {error.strerror}. Give the path of a weather file") from None


def read_hourly(path: Path) -> HourlyWeather:
    """Read a typical year of hours, by suffix an EPW, else a TMY3. Errors: InputError for what is none."""
    from pvlib import iotools  # takes a second to import

    kind = "epw" if path.suffix.lower() == ".epw" else "tmy3"
    try:
        if kind == "epw":
            data, told = iotools.read_epw(str(path), coerce_year=TYPICAL_YEAR)
            ends = data.index.tz_localize(None).to_numpy() + np.timedelta64(1, "h")
        else:
            data, told = iotools.read_tmy3(str(path), coerce_year=TYPICAL_YEAR, map_variables=True)
            ends = data.index.tz_localize(None).to_numpy()
        return _checked(path.name, kind, data, told, ends)
    except (ValueError, KeyError, IndexError, TypeError, OSError) as error:
        raise InputError(
            f"{path}: cannot be read as {'an EPW' if kind == 'epw' else 'a TMY3'} file: {error}. Fetch it anew"
        ) from None


def _checked(source: str, kind: str, data: Any, told: dict[str, Any], ends: NDArray[np.datetime64]) -> HourlyWeather:
    if len(data) != 8760 or (np.diff(ends) != np.timedelta64(1, "h")).any():
        raise InputError(f"{source}: a weather year has 8760 hours, one after another; {len(data)} are in it")
    ends = ends.astype("datetime64[s]")
    place = Place(told["latitude"], told["longitude"], told["altitude"], told["TZ"])
    wrong: list[str] = []
    findings: list[Finding] = []

    def column(name: str, limits: str, factor: float = 1.0, offset: float = 0.0, most: float = 1.0) -> Floats:
        raw = data[name].to_numpy(dtype=float)
        low, high = LIMITS[limits]
        values: Floats = raw * factor + offset
        bad = ~((values >= low) & (values <= high * most))
        wrong.extend(f"{end} {name} {value:g}" for end, value in zip(ends[bad], raw[bad], strict=True))
        return np.where(bad, np.nan, values)

    temperature = _whole(column("temp_air", "temperature", offset=ZERO_CELSIUS), "temperature", ends, source, findings)
    dew = _whole(column("temp_dew", "temperature", offset=ZERO_CELSIUS), "dew point", ends, source, findings)
    wind = _whole(column("wind_speed", "wind"), "wind", ends, source, findings)
    radiation = _whole(column("ghi", "radiation", 3600.0, most=1 / 8), "radiation", ends, source, findings)
    rain, dry = _rain(data, _RAIN[kind])
    return HourlyWeather(
        source=source,
        place=place,
        ends=ends,
        temperature=temperature,
        vapour_pressure=saturation_pressure(np.minimum(dew, temperature)),
        wind=wind_at_two_metres(wind, height=WIND_HEIGHT),
        radiation=radiation,
        rain=rain,
        typical=True,
        findings=(*nonsense(wrong, source=source, days=len(ends)), *findings, *dry),
    )


def _whole(values: Floats, what: str, ends: NDArray[np.datetime64], source: str, findings: list[Finding]) -> Floats:
    """Bridge short gaps and name them. Errors: InputError for longer ones."""
    unknown = np.isnan(values)
    if not unknown.any():
        return values
    edges = np.flatnonzero(np.diff(np.concatenate(([0], unknown.astype(int), [0])))).reshape(-1, 2)
    longest = max(edges, key=lambda edge: edge[1] - edge[0])
    hours = int(longest[1] - longest[0])
    if hours > LONGEST_BRIDGE:
        raise InputError(
            f"{source}: {what} is missing for {hours} hours to {ends[longest[1] - 1]}; at most {LONGEST_BRIDGE} are "
            "bridged: take another file"
        )
    told = [str(ends[a]) for a, _ in edges]
    findings.append(
        named("weather-gaps", told, what=f"{what} is missing in {int(unknown.sum())} hours, bridged", do="Nothing.")
    )
    return bridged(values)


def _rain(data: Any, name: str) -> tuple[Floats, list[Finding]]:
    """Depth of rain [m] an hour, unless half of the hours or the year's sum cannot be; then none, and why."""
    raw = data[name].to_numpy(dtype=float)
    rain = np.where((raw >= 0) & (raw < MISSING_RAIN), raw * 1e-3, np.nan)
    missing, total = float(np.isnan(rain).mean()), float(np.nansum(rain))
    if missing < 0.5 and 0 < total < MOST_RAIN:
        return rain, []
    if missing >= 0.5:
        what = f"Rain is told for {1 - missing:.0%} of the hours only, and not counted."
    else:
        what = f"The file's rain adds up to {1e3 * total:.0f} mm in the year, which cannot be, and is not counted."
    do = "Typical years are made for the sun: take daily weather with rain, or more is watered than need be."
    finding = Finding(rule="weather-rain", severity="should", where="weather", what=what, do=do, source="judgement")
    return np.full(len(rain), np.nan), [finding]
