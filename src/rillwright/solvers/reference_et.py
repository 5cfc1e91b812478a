"""Reference evapotranspiration of a series of days or hours, with what is missing estimated and named.

Penman-Monteith where humidity, radiation, sunshine or wind was measured at all; Hargreaves-Samani where only
temperatures are known. Beside Penman-Monteith a missing value of a day is estimated as FAO-56 chapter 3 says:
humidity   dew point = coldest of the day
radiation  0.16 · sqrt(swing) · Ra inland, 0.19 by the sea (equation 50); from sunshine where that is known
wind       2 m/s
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rillwright.model.weather import DailyWeather, HourlyWeather, days_of_year
from rillwright.physics.evapotranspiration import (
    FAO56,
    STANDARD_WIND,
    ReferenceCrop,
    cloudiness,
    daily_et,
    hargreaves_et,
    hourly_et,
    saturation_pressure,
)
from rillwright.physics.sunlight import (
    DAY,
    clear_sky,
    extraterrestrial,
    extraterrestrial_between,
    global_from_sunshine,
    global_from_temperature,
    solar_hour_angle,
    sun_height,
    sunset_angle,
)

__all__ = ["ReferenceEt", "hourly_reference_et", "reference_et"]

Floats = NDArray[np.float64]
Method = Literal["Penman-Monteith", "Hargreaves-Samani"]

_LOW_SUN = 0.3  # [rad] under which Rs/Rso says nothing of the clouds: ASCE-EWRI 2005, from memory
_USUAL_CLEARNESS = 0.8  # of Rs/Rso at night before any sun was seen: FAO-56 chapter 4, example 19


@dataclass(frozen=True, slots=True, eq=False)
class ReferenceEt:
    """Reference evapotranspiration by day."""

    depth: Floats  # (n,) [m]
    method: Method
    estimated: dict[str, int]  # days on which a quantity was estimated, by its name


def reference_et(
    weather: DailyWeather, *, latitude: float, altitude: float, coastal: bool = False, crop: ReferenceCrop = FAO56
) -> ReferenceEt:
    """Reference evapotranspiration of every day.

    Parameters: weather; latitude [°]; altitude [m]; coastal, for radiation from temperatures; crop, the form of the
    equation. Below freezing a day counts for little and never under 0.
    """
    angle, day = np.radians(latitude), days_of_year(weather.days)
    above = extraterrestrial(angle, day_of_year=day)
    if all(np.isnan(x).all() for x in (weather.vapour_pressure, weather.radiation, weather.sunshine, weather.wind)):
        depth = hargreaves_et(tmax=weather.tmax, tmin=weather.tmin, extraterrestrial=above)
        return ReferenceEt(depth, "Hargreaves-Samani", {})
    radiation, by_swing = _radiation(weather, above, sunset_angle(angle, day_of_year=day) * DAY / np.pi, coastal)
    no_vapour, no_wind = np.isnan(weather.vapour_pressure), np.isnan(weather.wind)
    depth = daily_et(
        tmax=weather.tmax,
        tmin=weather.tmin,
        vapour_pressure=np.where(no_vapour, saturation_pressure(weather.tmin), weather.vapour_pressure),
        radiation=radiation,
        extraterrestrial=above,
        wind=np.where(no_wind, STANDARD_WIND, weather.wind),
        altitude=altitude,
        crop=crop,
    )
    count = {"humidity": int(no_vapour.sum()), "radiation": by_swing, "wind": int(no_wind.sum())}
    return ReferenceEt(np.maximum(depth, 0.0), "Penman-Monteith", {k: n for k, n in count.items() if n})


def _radiation(weather: DailyWeather, above: Floats, daylight: Floats, coastal: bool) -> tuple[Floats, int]:
    """Global radiation, measured, from sunshine or from the swing of temperature; on how many days from the last."""
    swing = np.maximum(weather.tmax - weather.tmin, 0.0)
    guessed = global_from_temperature(swing, extraterrestrial=above, coastal=coastal)
    sunny = np.minimum(weather.sunshine, daylight)
    shone = global_from_sunshine(sunny, daylight=np.maximum(daylight, 1.0), extraterrestrial=above)
    radiation = np.where(np.isnan(weather.radiation), shone, weather.radiation)
    unknown = np.isnan(radiation)
    return np.where(unknown, guessed, radiation), int(unknown.sum())


def hourly_reference_et(
    weather: HourlyWeather,
    *,
    latitude: float,
    longitude: float,
    altitude: float,
    utc_offset: float,
    crop: ReferenceCrop,
) -> Floats:
    """Reference evapotranspiration of every hour [m].

    Parameters: weather, without gaps; latitude and longitude [°], east positive; altitude [m]; utc_offset [h] of the
    weather's clock; crop. While the sun is low the clouds count as they did when it last was higher.
    """
    middles = weather.ends - np.timedelta64(30, "m")
    days = middles.astype("datetime64[D]")
    clock = (middles - days) / np.timedelta64(1, "s")
    angle, day = np.radians(latitude), days_of_year(days)
    turned = solar_hour_angle(
        clock, longitude=np.radians(longitude), meridian=np.radians(15 * utc_offset), day_of_year=day
    )
    above = extraterrestrial_between(turned, step=3600.0, latitude=angle, day_of_year=day)
    clear = clear_sky(above, altitude=altitude)
    high = sun_height(turned, latitude=angle, day_of_year=day) >= _LOW_SUN
    last = np.maximum.accumulate(np.where(high, np.arange(len(high)), -1))
    seen = cloudiness(weather.radiation, clear=clear, crop=crop)
    clouds = np.where(last >= 0, seen[last], 1.35 * _USUAL_CLEARNESS - 0.35)
    return hourly_et(
        temperature=weather.temperature,
        vapour_pressure=weather.vapour_pressure,
        radiation=weather.radiation,
        clouds=clouds,
        wind=weather.wind,
        altitude=altitude,
        crop=crop,
    )
