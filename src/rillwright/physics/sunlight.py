"""Sunlight at the ground and over the air: geometry of the sun, extraterrestrial, clear-sky, global and net radiation.

Arrays broadcast. Radiation is the energy on a level square metre over a step, a day or a part of it [J/m²].
Source, where none is named: FAO Irrigation and Drainage Paper 56 (1998), chapter 3, from memory.
"""

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "DAY",
    "clear_sky",
    "declination",
    "extraterrestrial",
    "extraterrestrial_between",
    "global_from_sunshine",
    "global_from_temperature",
    "net_longwave",
    "solar_hour_angle",
    "sun_height",
    "sunset_angle",
]

Floats = NDArray[np.float64]
Numbers = Floats | float

DAY = 86_400.0  # [s]
SOLAR_CONSTANT = 0.0820e6 / 60  # [W/m²] equation 21
STEFAN_BOLTZMANN = 4.903e-3 / DAY  # [W/m²/K⁴] equation 39


def declination(day_of_year: Numbers) -> Floats:
    """Solar declination [rad] on a day of the year, 1 to 366. Source: equation 24."""
    return 0.409 * np.sin(2 * np.pi * np.asarray(day_of_year, dtype=float) / 365 - 1.39)


def sunset_angle(latitude: Numbers, *, day_of_year: Numbers) -> Floats:
    """Hour angle of sunset [rad]: 0 in polar night, pi in polar day.

    Parameters: latitude [rad], north positive; day_of_year, 1 to 366. Source: equation 25.

    >>> round(float(sunset_angle(np.radians(-20), day_of_year=246)), 3)
    1.527
    """
    return np.asarray(np.arccos(np.clip(-np.tan(latitude) * np.tan(declination(day_of_year)), -1.0, 1.0)), dtype=float)


def _at_sun(day_of_year: Numbers) -> Floats:
    """Radiation [W/m²] square to the sun over the air, with the earth's distance. Equation 23."""
    return SOLAR_CONSTANT * (1 + 0.033 * np.cos(2 * np.pi * np.asarray(day_of_year, dtype=float) / 365))


def extraterrestrial(latitude: Numbers, *, day_of_year: Numbers) -> Floats:
    """Radiation over the air on a day.

    Parameters: latitude [rad]; day_of_year, 1 to 366. Returns: [J/m² a day]. Source: equation 21.

    >>> round(float(extraterrestrial(np.radians(-20), day_of_year=246)) / 1e6, 1)
    32.2
    """
    sunset, tilt = sunset_angle(latitude, day_of_year=day_of_year), declination(day_of_year)
    seen = sunset * np.sin(latitude) * np.sin(tilt) + np.cos(latitude) * np.cos(tilt) * np.sin(sunset)
    return np.asarray(DAY / np.pi * _at_sun(day_of_year) * seen, dtype=float)


def solar_hour_angle(clock: Numbers, *, longitude: Numbers, meridian: Numbers, day_of_year: Numbers) -> Floats:
    """Angle of the sun from noon [rad], from -pi to pi.

    Parameters: clock [s] of standard time since midnight; longitude and the zone's meridian [rad], east positive;
    day_of_year. Source: equations 31 to 33, with longitudes counted to the east.
    """
    season = 2 * np.pi * (np.asarray(day_of_year, dtype=float) - 81) / 364
    shift = 0.1645 * np.sin(2 * season) - 0.1255 * np.cos(season) - 0.025 * np.sin(season)  # [h]
    hours = np.asarray(clock, dtype=float) / 3600 + (np.asarray(longitude) - meridian) * 12 / np.pi + shift
    turned: Floats = np.mod(np.pi / 12 * (hours - 12) + np.pi, 2 * np.pi) - np.pi
    return turned


def extraterrestrial_between(middle: Numbers, *, step: float, latitude: Numbers, day_of_year: Numbers) -> Floats:
    """Radiation over the air during a part of a day.

    Parameters: middle, hour angle of its middle [rad]; step [s]; latitude [rad]; day_of_year. Returns: [J/m²], 0 at
    night; only the part between sunrise and sunset counts. Source: equation 28.
    """
    half, tilt = np.pi * step / DAY, declination(day_of_year)
    sunset = sunset_angle(latitude, day_of_year=day_of_year)
    low = np.clip(np.asarray(middle) - half, -sunset, sunset)
    high = np.clip(np.asarray(middle) + half, -sunset, sunset)
    seen = (high - low) * np.sin(latitude) * np.sin(tilt)
    seen = seen + np.cos(latitude) * np.cos(tilt) * (np.sin(high) - np.sin(low))
    return np.asarray(np.maximum(DAY / (2 * np.pi) * _at_sun(day_of_year) * seen, 0.0), dtype=float)


def sun_height(hour_angle: Numbers, *, latitude: Numbers, day_of_year: Numbers) -> Floats:
    """Angle of the sun over the horizon [rad], negative at night. Source: equation 3-15 of ASCE-EWRI 2005."""
    tilt = declination(day_of_year)
    sine = np.sin(latitude) * np.sin(tilt) + np.cos(latitude) * np.cos(tilt) * np.cos(hour_angle)
    return np.asarray(np.arcsin(np.clip(sine, -1.0, 1.0)), dtype=float)


def clear_sky(extraterrestrial: Numbers, *, altitude: Numbers) -> Floats:
    """Global radiation under a clear sky [J/m²]; altitude [m]. Source: equation 37."""
    return (0.75 + 2e-5 * np.asarray(altitude, dtype=float)) * extraterrestrial


def global_from_sunshine(sunshine: Numbers, *, daylight: Numbers, extraterrestrial: Numbers) -> Floats:
    """Global radiation [J/m² a day] from hours of bright sunshine.

    Parameters: sunshine and daylight [s]; extraterrestrial [J/m² a day]. Source: equation 35 with a 0.25,
    b 0.50.
    """
    return (0.25 + 0.50 * np.asarray(sunshine, dtype=float) / daylight) * extraterrestrial


def global_from_temperature(swing: Numbers, *, extraterrestrial: Numbers, coastal: bool = False) -> Floats:
    """Global radiation [J/m² a day] from the day's swing of temperature (Hargreaves).

    Parameters: swing, warmest less coldest [K], at least 0; extraterrestrial [J/m² a day]; coastal: the coefficient is
    0.19 there, 0.16 inland. Source: equation 50.
    """
    return (0.19 if coastal else 0.16) * np.sqrt(swing) * extraterrestrial


def net_longwave(
    *, warm: Numbers, cold: Numbers, vapour_pressure: Numbers, cloudiness: Numbers, step: float = DAY
) -> Floats:
    """Heat that the ground sends out, less what the sky sends back [J/m²].

    Parameters: warm and cold [K], the warmest and coldest of the day, of a shorter step both its mean; vapour_pressure
    [Pa]; cloudiness factor [-], 1.35 Rs/Rso - 0.35; step [s]. Source: equation 39.
    """
    black = STEFAN_BOLTZMANN * step * (np.asarray(warm, dtype=float) ** 4 + np.asarray(cold, dtype=float) ** 4) / 2
    return np.asarray(black * (0.34 - 0.14 * np.sqrt(np.asarray(vapour_pressure) / 1e3)) * cloudiness, dtype=float)
