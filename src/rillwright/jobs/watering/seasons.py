"""Weather turned into seasons of turf: what it needs, what rain stays, how dry the soil may get."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.model.findings import Finding
from rillwright.model.growing import Climate
from rillwright.model.site import Yard
from rillwright.model.soils import TurfKind, soil_kinds, turf_kinds
from rillwright.model.watering import SoilUsed, WeatherUsed
from rillwright.model.weather import DailyWeather, Normals, Place, daily_from_normals
from rillwright.physics.evapotranspiration import saturation_pressure
from rillwright.physics.soil import depletion_share, runoff
from rillwright.physics.units import FOOT, show
from rillwright.solvers.reference_et import ReferenceEt, reference_et
from rillwright.solvers.soil_water import profile_of
from rillwright.solvers.soil_water.profile import layers_of

__all__ = [
    "ASSUMED_LATITUDE",
    "NORMAL_YEAR",
    "Seasons",
    "TurfSoil",
    "limits",
    "place_of",
    "season_dates",
    "seasons_of",
    "soil_used",
    "stays",
    "turf_soil",
    "usual_weather",
    "weather_findings",
]

Floats = NDArray[np.float64]

ASSUMED_LATITUDE = 43.0  # [°] where nobody has said, as in the build guide
ASSUMED_ALTITUDE = 100.0  # [m] likewise
NORMAL_YEAR = 2025
GROWS_FROM = 281.15  # [K] 8 °C mean of a month, from which turf is watered; judgement
SLIGHT = 0.2  # of the day's ET0: lesser rain does not count, FAO-56 chapter 8


@dataclass(frozen=True, slots=True, eq=False)
class Seasons:
    """The days of each season; arrays (years, days) where no other shape is told."""

    months: tuple[int, ...]  # of the season, in its order
    years: tuple[int, ...]  # in which each begins
    days: NDArray[np.datetime64]
    month: NDArray[np.int64]  # (days,) number in `months`
    reference: Floats  # [m]
    need: Floats  # [m] Kc · ET0
    rain: Floats  # [m] all of it
    effective: Floats  # [m]
    used: WeatherUsed
    peak: tuple[int, Floats]  # month of the highest ET0 of the whole weather, and ET0 in it by year [m]


@dataclass(frozen=True, slots=True)
class TurfSoil:
    """The rooted soil and the turf on it."""

    turf: TurfKind
    roots: float  # [m]
    available: float  # [m]
    curve_number: float
    rise: float  # [m] a day


def usual_weather(climate: Climate, *, source: str) -> DailyWeather:
    """The yard's own monthly normals as a usual year."""
    months = climate.months

    def each(name: str) -> tuple[float, ...]:
        return tuple(np.nan if (value := getattr(month, name)) is None else value for month in months)

    mean = [(saturation_pressure(m.tmax) + saturation_pressure(m.tmin)) / 2 for m in months]
    vapour = tuple(float(h * e) for h, e in zip(each("humidity"), mean, strict=True))
    normals = Normals(
        source=climate.source or source,
        tmax=each("tmax"),
        tmin=each("tmin"),
        rain=each("rain"),
        rain_days=each("rain_days"),
        vapour_pressure=vapour,
        wind=each("wind"),
        radiation=(np.nan,) * 12,
        sunshine=each("sunshine"),
    )
    return daily_from_normals(normals, place=Place(altitude=climate.altitude), year=NORMAL_YEAR)


def turf_soil(yard: Yard) -> TurfSoil:
    """What the yard's turf roots in. Errors: InputError for roots of no depth."""
    roots = yard.turf.root_depth
    top = layers_of(yard.soil)[0].texture
    return TurfSoil(
        turf=turf_kinds()[yard.turf.group],
        roots=roots,
        available=profile_of(yard.soil, depth=max(roots, 0.0)).available(roots),
        curve_number=soil_kinds()[top].curve_number,
        rise=yard.soil.capillary_rise,
    )


def seasons_of(
    weather: DailyWeather, yard: Yard, soil: TurfSoil, *, latitude: float | None, altitude: float | None
) -> Seasons:
    """Cut the weather into seasons.

    Parameters: weather; yard; soil; latitude [°] and altitude [m], which go before those of the weather and of the
    yard.
    Errors: InputError when no season is whole, or no month is warm enough.
    """
    place, assumed = place_of(weather, yard, latitude, altitude)
    months = _months(weather)
    if weather.comes_round and months[0] + len(months) > 13:  # over New Year, as in the south
        weather = weather.twice()
    et = reference_et(weather, latitude=place[0], altitude=place[1])
    rows = _rows(weather, months)
    if not rows:
        raise InputError(
            f"{weather.source}: {weather.days[0]} to {weather.days[-1]} holds no whole season from month {months[0]} "
            f"to month {months[-1]}: give weather for one at least"
        )
    days = weather.days[rows[0][1]]
    number = np.array([months.index(int(m) + 1) for m in days.astype("datetime64[M]").astype(int) % 12])
    index = np.array([row for _, row in rows])
    reference, rain = et.depth[index], weather.rain[index]
    return Seasons(
        months=months,
        years=tuple(year for year, _ in rows),
        days=weather.days[index],
        month=number,
        reference=reference,
        need=soil.turf.crop_coefficient * reference,
        rain=rain,
        effective=stays(rain, reference, soil),
        used=_used(weather, et, place, assumed, tuple(year for year, _ in rows)),
        peak=_peak(weather, et),
    )


def place_of(
    weather: DailyWeather, yard: Yard, latitude: float | None, altitude: float | None
) -> tuple[tuple[float, float], tuple[str, ...]]:
    """Latitude [°] and altitude [m] that count, and what had to be assumed."""
    assumed = []
    own = None if yard.origin is None else yard.origin.lat
    north = next((x for x in (latitude, weather.place.latitude, own) if x is not None), None)
    if north is None:
        north = ASSUMED_LATITUDE
        assumed.append(f"Neither weather nor yard give a latitude: {north:.0f}° is assumed.")
    above = next((x for x in (altitude, weather.place.altitude, _height(yard)) if x is not None), None)
    if above is None:
        above = ASSUMED_ALTITUDE
        told = f"{above:.0f} m ({above / FOOT:.0f} ft)"
        assumed.append(f"Nobody has said how high the yard lies: {told} over the sea are assumed.")
    return (north, above), tuple(assumed)


def _height(yard: Yard) -> float | None:
    return None if yard.climate is None else yard.climate.altitude


def _months(weather: DailyWeather) -> tuple[int, ...]:
    """Months of the season in order: those warm enough that join the warmest one."""
    month = weather.days.astype("datetime64[M]").astype(int) % 12
    there = np.unique(month)
    mean = np.full(12, -np.inf)
    for m in there:
        mean[m] = ((weather.tmax + weather.tmin) / 2)[month == m].mean()
    warmest = int(mean.argmax())
    if mean[warmest] < GROWS_FROM:
        raise InputError(
            f"{weather.source}: no month of {weather.days[0]} to {weather.days[-1]} reaches a mean of "
            f"{GROWS_FROM - 273.15:.0f} °C ({GROWS_FROM * 1.8 - 459.67:.0f} °F): give the warm months too, or look at "
            "the units"
        )
    warm = mean >= GROWS_FROM
    if warm.all():
        return tuple(range(1, 13))
    first = last = warmest
    while warm[(first - 1) % 12]:
        first = (first - 1) % 12
    while warm[(last + 1) % 12]:
        last = (last + 1) % 12
    return tuple((first + n) % 12 + 1 for n in range((last - first) % 12 + 1))


def _rows(weather: DailyWeather, months: tuple[int, ...]) -> list[tuple[int, NDArray[np.int64]]]:
    """Of each year with a whole season the days' numbers; 29 February is left out, so that seasons are alike."""
    found = []
    years = np.unique(weather.days.astype("datetime64[Y]").astype(int)) + 1970
    for year in years:
        dates = season_dates(months, int(year))
        if weather.days[0] <= dates[0] and dates[-1] <= weather.days[-1]:
            first = int((dates[0] - weather.days[0]).astype(int))
            row = np.arange(first, first + len(dates))
            leap = np.char.endswith(weather.days[row].astype(str), "-02-29")
            found.append((int(year), row[~leap]))
    return found


def season_dates(months: tuple[int, ...], year: int) -> NDArray[np.datetime64]:
    """Every day of the season that begins in a year."""
    after = months[0] - 1 + len(months)
    begins = np.datetime64(f"{year:04d}-{months[0]:02d}-01")
    ends = np.datetime64(f"{year + after // 12:04d}-{after % 12 + 1:02d}-01")
    return np.arange(begins, ends)


def _used(
    weather: DailyWeather, et: ReferenceEt, place: tuple[float, float], assumed: tuple[str, ...], years: tuple[int, ...]
) -> WeatherUsed:
    return WeatherUsed(
        source=weather.source,
        years=years,
        normals=weather.normals,
        latitude=place[0],
        altitude=place[1],
        method=et.method,
        estimated=et.estimated,
        assumed=assumed,
    )


def _peak(weather: DailyWeather, et: ReferenceEt) -> tuple[int, Floats]:
    """The month of the highest mean ET0, and its ET0 in each whole one [m]."""
    stamp = weather.days.astype("datetime64[M]").astype(int)
    whole: dict[int, list[float]] = {}
    for month in np.unique(stamp):
        own = stamp == month
        length = int(
            (
                (month + 1).astype("datetime64[M]").astype("datetime64[D]")
                - month.astype("datetime64[M]").astype("datetime64[D]")
            ).astype(int)
        )
        if own.sum() == length:
            whole.setdefault(int(month % 12) + 1, []).append(float(et.depth[own].sum()))
    best = max(whole, key=lambda m: float(np.mean(whole[m])))
    return best, np.array(whole[best])


def stays(rain: Floats, reference: Floats, soil: TurfSoil) -> Floats:
    """Water [m] that a day's rain, less what is slight and what runs off, and rise from below leave in the soil."""
    kept = np.where(rain > SLIGHT * reference, rain - runoff(rain, curve_number=soil.curve_number), 0.0)
    return np.asarray(kept + soil.rise, dtype=float)


def soil_used(yard: Yard, soil: TurfSoil, use: float) -> SoilUsed:
    """Told of the soil; use [m] a day in the peak month."""
    share = float(depletion_share(soil.turf.depletion, use=use))
    told = []
    for layer in layers_of(yard.soil):
        deep = "" if layer.thickness == float("inf") else f"{show(layer.thickness, 'depth', yard.units)} of "
        told.append(f"{deep}{layer.texture}, holds {layer.field_capacity - layer.wilting_point:.3f} of its volume")
    return SoilUsed(
        layers=tuple(told),
        root_depth=soil.roots,
        available=soil.available,
        share=share,
        limit=share * soil.available,
        crop_coefficient=soil.turf.crop_coefficient,
    )


def limits(need: Floats, soil: TurfSoil) -> Floats:
    """Depletion [m] that each day may reach without stress."""
    return soil.available * depletion_share(soil.turf.depletion, use=need)


def weather_findings(weather: DailyWeather, used: WeatherUsed) -> list[Finding]:
    """What the file lacked, and what was estimated."""
    found = list(weather.findings)
    if used.estimated:
        told = ", ".join(f"{name} on {days} days" for name, days in used.estimated.items())
        found.append(
            Finding(
                rule="weather-estimated",
                severity="know",
                where="weather",
                what=f"Estimated as FAO-56 chapter 3 says: {told}.",
                do="Give them in the weather file where a station measures them.",
                source="FAO Irrigation and Drainage Paper 56, chapter 3",
            )
        )
    return found
