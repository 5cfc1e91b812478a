"""The season as it went so far: how dry the lawns are by this year's weather, and what the next night needs.

The programme is taken to have run on every planned night but those that the rain switch skipped. The next night needs
the share f of its month's minutes with which the driest kept ground stays within its limit until the night after, by
the month's mean need and no rain:

    f = max over the points of (lacking + need until then - limit) / what the month's minutes put on there

Ground whose zones have no minutes in that month, and would pass its limit by then, is told apart: its zone, and how
long it must run once by hand. So is ground that is past its limit when no planned night is left.
"""

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.jobs.watering.ground import watered_ground
from rillwright.jobs.watering.plan import WaterTerms
from rillwright.jobs.watering.seasons import limits, place_of, season_dates, stays, turf_soil
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.watering import WaterPlan
from rillwright.model.watering_asked import SoFar
from rillwright.model.weather import DailyWeather
from rillwright.solvers.reference_et import reference_et
from rillwright.solvers.season import Points
from rillwright.solvers.season.trial import NO_NIGHT
from rillwright.solvers.soil_water import profile_of, water_balance

__all__ = ["season_so_far", "so_far_or_why"]


LAST_DAYS = 14  # whose use is set against the usual


def season_so_far(plan: Plan, made: WaterPlan, weather: DailyWeather, catalogue: Catalogue, terms: WaterTerms) -> SoFar:
    """Say where a programme's season stands.

    Parameters: plan and its programme; weather from the first day of the programme's season on, in its calendar year;
    catalogue; terms. Errors: InputError for weather of other days.
    """
    yard, soil = plan.yard, turf_soil(plan.yard)
    months = tuple(month.month for month in made.months)
    dates = season_dates(months, made.year)
    if weather.normals:
        raise InputError(f"{weather.source}: monthly normals do not tell how this year went: give its days")
    if weather.days[0] > dates[0] or weather.days[-1] < dates[0]:
        raise InputError(
            f"{weather.source}: {weather.days[0]} to {weather.days[-1]} does not hold {dates[0]}, the first day of the "
            f"season of {made.year}: give this year's weather from then on, or --year"
        )
    days = weather.between(dates[0], dates[-1])
    (latitude, altitude), _ = place_of(weather, yard, terms.latitude, terms.altitude)
    reference = reference_et(days, latitude=latitude, altitude=altitude).depth
    need = soil.turf.crop_coefficient * reference
    month = np.array([months.index(int(m) + 1) for m in days.days.astype("datetime64[M]").astype(int) % 12])
    nights = np.array(sorted(day for one in made.months for day in one.dates), dtype="datetime64[D]")
    skip = yard.watering_terms.rain_skip
    before = np.concatenate(([0.0], days.rain[:-1]))
    wet = before >= skip if skip > 0 else np.zeros(len(before), dtype=bool)
    slot = np.where(np.isin(days.days, nights) & ~wet, month, NO_NIGHT)
    limit = limits(need, soil)
    seconds = np.array([[one.seconds[zone.id] for zone in made.zones] for one in made.months])
    points = watered_ground(plan, catalogue).kept(yard.watering_terms.kept)
    water = np.vstack((seconds, np.zeros(seconds.shape[1]))) @ points.rate.T
    kept = water_balance(
        profile_of(yard.soil, depth=soil.roots),
        demand=need[:, None] * points.need,
        rain=stays(days.rain, reference, soil),
        water=water[slot],
        roots=np.full(len(need), soil.roots),
        depletion=soil.turf.depletion,
    )
    lacking = kept.depletion[-1]
    driest = int((lacking - limit[-1]).argmax())
    ahead = nights[nights > days.days[-1]]
    asks, gives, by_hand = 0.0, 0.0, None
    if len(ahead):
        number = months.index(int(ahead[0].astype("datetime64[M]").astype(int) % 12) + 1)
        usual = made.months[number].need / (dates.astype("datetime64[M]") == ahead[0].astype("datetime64[M]")).sum()
        until = ahead[1] if len(ahead) > 1 else dates[-1]
        wait = int((until - days.days[-1]).astype(int)) - 1
        most = float(limits(np.array([usual]), soil)[0])
        given = points.rate @ seconds[number]
        short = lacking + wait * usual * points.need - most
        fed = given > 0
        if fed.any():
            most_asked = int(np.flatnonzero(fed)[(short[fed] / given[fed]).argmax()])
            asks, gives = max(float(short[most_asked]), 0.0), float(given[most_asked])
        by_hand = _by_hand(np.where(fed, 0.0, short), points, made)
    elif days.days[-1] < dates[-1]:  # months without water are left of the season
        by_hand = _by_hand(lacking - limit[-1], points, made)
    last = min(LAST_DAYS, len(need))
    per_day = (
        made.months[month[-1]].need / (dates.astype("datetime64[M]") == days.days[-1].astype("datetime64[M]")).sum()
    )
    return SoFar(
        day=days.days[-1].astype(object),
        lacking=float(lacking[driest]),
        limit=float(limit[-1]),
        need=float(need[-last:].sum()),
        usual=float(per_day * last),
        night=ahead[0].astype(object) if len(ahead) else None,
        days=last,
        percent=100 * asks / gives if gives > 0 else 0.0,
        short=asks,
        given=gives,
        by_hand=by_hand,
    )


def so_far_or_why(
    plan: Plan, made: WaterPlan, weather: DailyWeather | None, catalogue: Catalogue, terms: WaterTerms
) -> tuple[SoFar | None, str]:
    """Where the season stands by its days, if any are known, or why they do not tell it."""
    try:
        return None if weather is None else season_so_far(plan, made, weather, catalogue, terms), ""
    except InputError as error:
        return None, f"This season so far is not told. {error}"


def _by_hand(short: NDArray[np.float64], points: Points, made: WaterPlan) -> tuple[str, float] | None:
    """The zone that best reaches the ground that is most short [m], and how long [s] it must run; None for none."""
    worst = int(short.argmax())
    zone = int(points.rate[worst].argmax())
    if short[worst] <= 0:
        return None
    return made.zones[zone].id, float(short[worst] / points.rate[worst, zone])
