"""Water that a reference crop gives to the air: Penman-Monteith as FAO-56 and ASCE set it, and Hargreaves-Samani.

Arrays broadcast. SI: temperatures [K], pressures [Pa], radiation over the step [J/m²], water over the step [m].
FAO-56 is FAO Irrigation and Drainage Paper 56 (1998); ASCE is the standardized equation of ASCE-EWRI (2005). Both from
memory; worked examples in tests/published.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.physics.sunlight import DAY, clear_sky, net_longwave

__all__ = [
    "ASCE_SHORT",
    "ASCE_TALL",
    "FAO56",
    "STANDARD_WIND",
    "ReferenceCrop",
    "air_pressure",
    "cloudiness",
    "daily_et",
    "hargreaves_et",
    "hourly_et",
    "net_radiation",
    "psychrometric_constant",
    "saturation_pressure",
    "saturation_slope",
    "wind_at_two_metres",
]

Floats = NDArray[np.float64]
Numbers = Floats | float

STANDARD_WIND = 2.0  # [m/s] at 2 m where none was measured: mean of 2 000 stations, FAO-56 chapter 3
ZERO_CELSIUS = 273.15  # [K]
ALBEDO = 0.23  # FAO-56 equation 38
_WATER = 0.408e-9  # [m per J/m²] water that one joule evaporates: 1 / 2.45 MJ/kg, equation 20


@dataclass(frozen=True, slots=True)
class ReferenceCrop:
    """Constants of one form of the equation: FAO-56 equations 6 and 53, ASCE table 1."""

    daily: tuple[float, float]  # numerator and denominator constant
    day: tuple[float, float]  # of an hour with net radiation above 0
    night: tuple[float, float]
    soil_day: float  # share of net radiation that goes into the ground
    soil_night: float
    least_clear: float  # least Rs/Rso taken for the clouds


FAO56 = ReferenceCrop((900, 0.34), (37, 0.34), (37, 0.34), 0.1, 0.5, 0.0)
ASCE_SHORT = ReferenceCrop((900, 0.34), (37, 0.24), (37, 0.96), 0.1, 0.5, 0.3)
ASCE_TALL = ReferenceCrop((1600, 0.38), (66, 0.25), (66, 1.7), 0.04, 0.2, 0.3)


def air_pressure(altitude: Numbers) -> Floats:
    """Mean air pressure [Pa] at an altitude [m]. Source: FAO-56 equation 7.

    >>> round(float(air_pressure(1800.0)) / 1e3, 1)
    81.8
    """
    return 101.3e3 * ((293 - 0.0065 * np.asarray(altitude, dtype=float)) / 293) ** 5.26


def psychrometric_constant(altitude: Numbers) -> Floats:
    """Psychrometric constant [Pa/K] at an altitude [m]. Source: FAO-56 equation 8.

    >>> round(float(psychrometric_constant(1800.0)) / 1e3, 3)
    0.054
    """
    return 0.665e-3 * air_pressure(altitude)


def saturation_pressure(temperature: Numbers) -> Floats:
    """Vapour pressure of saturated air [Pa] at a temperature [K], over water. Source: FAO-56 equation 11.

    >>> round(float(saturation_pressure(273.15 + 24.5)) / 1e3, 3)
    3.075
    """
    celsius = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    return 610.8 * np.exp(17.27 * celsius / (celsius + 237.3))


def saturation_slope(temperature: Numbers) -> Floats:
    """Slope of the saturation pressure [Pa/K] at a temperature [K]. Source: FAO-56 equation 13."""
    celsius = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    return 4098 * saturation_pressure(temperature) / (celsius + 237.3) ** 2


def wind_at_two_metres(speed: Numbers, *, height: float) -> Floats:
    """Wind at 2 m [m/s] from one measured at another height [m] over grass. Source: FAO-56 equation 47.

    >>> round(float(wind_at_two_metres(3.2, height=10.0)), 1)
    2.4
    """
    if height < 0.5:
        raise ValueError("wind is measured at least half a metre over the ground")
    return np.asarray(np.asarray(speed, dtype=float) * 4.87 / np.log(67.8 * height - 5.42), dtype=float)


def cloudiness(radiation: Numbers, *, clear: Numbers, crop: ReferenceCrop = FAO56) -> Floats:
    """Factor of the longwave loss that clouds leave, from global over clear-sky radiation, both [J/m²].

    Source: FAO-56 equation 39; ASCE holds Rs/Rso within 0.3 and 1. Without any sun (polar night) the sky counts clear.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(np.asarray(clear) > 0, np.asarray(radiation) / clear, 1.0)
    return np.maximum(1.35 * np.clip(ratio, crop.least_clear, 1.0) - 0.35, 0.05)


def net_radiation(
    *,
    tmax: Numbers,
    tmin: Numbers,
    vapour_pressure: Numbers,
    radiation: Numbers,
    extraterrestrial: Numbers,
    altitude: Numbers,
    crop: ReferenceCrop = FAO56,
) -> Floats:
    """Net radiation of a day [J/m²]. Source: FAO-56 equations 38 to 40."""
    clouds = cloudiness(radiation, clear=clear_sky(extraterrestrial, altitude=altitude), crop=crop)
    out = net_longwave(warm=tmax, cold=tmin, vapour_pressure=vapour_pressure, cloudiness=clouds)
    return (1 - ALBEDO) * np.asarray(radiation) - out


def daily_et(
    *,
    tmax: Numbers,
    tmin: Numbers,
    vapour_pressure: Numbers,
    radiation: Numbers,
    extraterrestrial: Numbers,
    wind: Numbers,
    altitude: Numbers,
    soil_heat: Numbers = 0.0,
    crop: ReferenceCrop = FAO56,
) -> Floats:
    """Reference evapotranspiration of a day [m].

    Parameters: tmax and tmin [K]; vapour_pressure [Pa]; radiation, global, and extraterrestrial [J/m² a day]; wind
    [m/s] at 2 m; altitude [m]; soil_heat [J/m²] into the ground: 0 for a day, FAO-56 equation 43 for a month; crop.
    Valid for daily means; a day whose mean vapour is over its saturation by extremes counts as saturated; below
    freezing it means little. Source: FAO-56 equation 6, ASCE equation 1.
    """
    tmean = (np.asarray(tmax) + tmin) / 2
    saturated = (saturation_pressure(tmax) + saturation_pressure(tmin)) / 2
    net = net_radiation(
        tmax=tmax,
        tmin=tmin,
        vapour_pressure=vapour_pressure,
        radiation=radiation,
        extraterrestrial=extraterrestrial,
        altitude=altitude,
        crop=crop,
    )
    lack = np.maximum(saturated - vapour_pressure, 0.0)
    return _penman_monteith(tmean, lack, net - soil_heat, wind, altitude, *crop.daily)


def hourly_et(
    *,
    temperature: Numbers,
    vapour_pressure: Numbers,
    radiation: Numbers,
    clouds: Numbers,
    wind: Numbers,
    altitude: Numbers,
    crop: ReferenceCrop = FAO56,
) -> Floats:
    """Reference evapotranspiration of an hour [m].

    Parameters: temperature [K], its mean; vapour_pressure [Pa]; radiation, global [J/m² an hour]; clouds, the factor
    that `cloudiness` gives, at night that of the last hours of sun; wind [m/s] at 2 m; altitude [m]; crop.
    Returns: may be a hair under 0 at night (dew). Source: FAO-56 equation 53, ASCE equation 1 by hours.
    """
    out = net_longwave(
        warm=temperature, cold=temperature, vapour_pressure=vapour_pressure, cloudiness=clouds, step=DAY / 24
    )
    net = (1 - ALBEDO) * np.asarray(radiation) - out
    sunlit = net > 0
    left = net * (1 - np.where(sunlit, crop.soil_day, crop.soil_night))
    lack = saturation_pressure(temperature) - vapour_pressure
    numerator = np.where(sunlit, crop.day[0], crop.night[0])
    denominator = np.where(sunlit, crop.day[1], crop.night[1])
    return _penman_monteith(temperature, lack, left, wind, altitude, numerator, denominator)


def _penman_monteith(
    mean: Numbers,
    lack: Numbers,
    energy: Numbers,
    wind: Numbers,
    altitude: Numbers,
    numerator: Numbers,
    denominator: Numbers,
) -> Floats:
    """The equation with its constants: lack of vapour [Pa], energy left for evaporation [J/m²]; [m] over the step."""
    slope, gamma = saturation_slope(mean) / 1e3, psychrometric_constant(altitude) / 1e3
    celsius = np.asarray(mean) - ZERO_CELSIUS
    by_wind = 1e-3 * gamma * numerator / (celsius + 273) * wind * np.asarray(lack) / 1e3
    return np.asarray(
        (_WATER * slope * np.asarray(energy) + by_wind) / (slope + gamma * (1 + denominator * np.asarray(wind))),
        dtype=float,
    )


def hargreaves_et(*, tmax: Numbers, tmin: Numbers, extraterrestrial: Numbers) -> Floats:
    """Reference evapotranspiration of a day [m] from temperatures alone.

    Parameters: tmax and tmin [K]; extraterrestrial [J/m² a day]. Returns: at least 0. Strays most by the sea and in
    wind.
    Source: Hargreaves and Samani 1985, as FAO-56 equation 52.
    """
    celsius = (np.asarray(tmax) + tmin) / 2 - ZERO_CELSIUS
    swing = np.sqrt(np.maximum(np.asarray(tmax) - tmin, 0.0))
    return np.asarray(
        np.maximum(0.0023 * (celsius + 17.8) * swing * _WATER * np.asarray(extraterrestrial), 0.0), dtype=float
    )
