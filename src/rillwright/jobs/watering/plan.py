"""Make a plan's watering programme: the seasons, the least water, the clock, and what it comes to over the years."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright import __version__
from rillwright.jobs.watering.clock import clock_sheet, rounded_seconds, set_months
from rillwright.jobs.watering.compared import compared, saved
from rillwright.jobs.watering.findings import programme_findings
from rillwright.jobs.watering.ground import WateredGround, watered_ground
from rillwright.jobs.watering.methods import (
    Chosen,
    baseline_seconds,
    choose_nights,
    volumes,
    worst_balance,
)
from rillwright.jobs.watering.nights import patterns
from rillwright.jobs.watering.seasons import (
    Seasons,
    TurfSoil,
    season_dates,
    seasons_of,
    soil_used,
    turf_soil,
    weather_findings,
)
from rillwright.jobs.watering.wind import calm_hours
from rillwright.jobs.watering.zone_clock import clock_changes
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.site import Yard
from rillwright.model.watering import (
    Allowance,
    DayByDay,
    MonthWater,
    WaterPlan,
)
from rillwright.model.weather import DailyWeather
from rillwright.solvers.clock import ClockPlan
from rillwright.solvers.season import Points, tried
from rillwright.solvers.season.points import HOPELESS
from rillwright.solvers.season.trial import NO_NIGHT
from rillwright.solvers.soil_water import profile_of

__all__ = ["WaterTerms", "make_water_plan"]

Floats = NDArray[np.float64]

ALLOWED = 0.70  # of the peak month's reference evapotranspiration: US EPA, water budget approach, from memory
ROOM = (1.0, 0.9, 0.75)  # shares of a night's hours that runs may fill, tried in turn; judgement
NO_DRIER = 1e-4  # [m] of shortfall, all points and months together
FIGURES = "tried day by day on every season"


@dataclass(frozen=True, slots=True)
class WaterTerms:
    """What is asked of a programme besides plan and weather."""

    year: int  # of the calendar
    latitude: float | None = None  # [°]
    altitude: float | None = None  # [m]
    seed: int = 0


def make_water_plan(plan: Plan, weather: DailyWeather, catalogue: Catalogue, terms: WaterTerms) -> WaterPlan:
    """Make the programme.

    Parameters: plan, with zones; weather, one whole season at least; catalogue; terms.
    Errors: InputError for a plan without zones, or weather without a season.
    """
    yard = plan.yard
    ground = watered_ground(plan, catalogue)
    soil = turf_soil(yard)
    seasons = seasons_of(weather, yard, soil, latitude=terms.latitude, altitude=terms.altitude)
    watering = yard.watering_terms
    chosen, clock = _fitting(seasons, soil, ground, yard, seed=terms.seed)
    wanted = chosen.least.seconds * watering.share
    seconds = rounded_seconds(wanted, ground, clock)
    base = baseline_seconds(seasons, chosen.planned, ground)
    methods, by_year = compared(chosen, seasons, soil, ground, yard, seconds, base)
    dates = season_dates(seasons.months, terms.year)
    months = _months(chosen, seasons, ground, seconds, base, calendar=dates)
    sheet = clock_sheet(seconds, ground, clock, yard, months=seasons.months)
    peak_use = max(month.need / _days(month.month) for month in months)
    made = WaterPlan(
        software=__version__,
        yard=yard.name,
        units=yard.units,
        currency=yard.currency,
        year=terms.year,
        weather=seasons.used,
        soil=soil_used(yard, soil, peak_use),
        zones=ground.zones,
        months=months,
        clock=sheet,
        years=by_year,
        methods=methods,
        saved=saved(methods),
        hopeless=float((ground.relative < HOPELESS).mean()),
        allowance=_allowance(seasons, ground, months),
        series=_series(chosen, seasons, soil, ground, yard, seconds),
        status=chosen.least.status,
        calm=calm_hours(weather, seasons.months, watering, year=terms.year),
        clock_changes=clock_changes(watering.time_zone, dates[0].astype(object), dates[-1].astype(object)),
    )
    findings = (*weather_findings(weather, seasons.used), *programme_findings(made, yard, chosen.least))
    return made.model_copy(update={"findings": findings})


def _fitting(
    seasons: Seasons, soil: TurfSoil, ground: WateredGround, yard: Yard, *, seed: int
) -> tuple[Chosen, ClockPlan]:
    """Nights and their clock; where whole minutes and rests need more than the hours, nights that leave some room.

    When no room makes it fit, or only at the price of dry ground, what the whole hours gave stands with its relief.
    """
    found: list[tuple[Chosen, ClockPlan]] = []
    for room in ROOM:
        chosen = choose_nights(seasons, soil, ground, patterns(yard.watering_terms), yard.watering_terms, room=room)
        wanted = chosen.least.seconds * yard.watering_terms.share
        clock = set_months(wanted, ground, yard, nights=min(p.every for p in chosen.patterns), seed=seed)
        found.append((chosen, clock))
        if "longer hours" not in clock.relief:
            break
    most = found[0][0].least.short.sum() + NO_DRIER
    return next((one for one in found if one[1].programs and one[0].least.short.sum() <= most), found[0])


def _days(month: int) -> int:
    return (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)[month - 1]


def _months(
    chosen: Chosen,
    seasons: Seasons,
    ground: WateredGround,
    seconds: Floats,
    base: Floats,
    calendar: NDArray[np.datetime64],
) -> tuple[MonthWater, ...]:
    names, stamp = [zone.id for zone in ground.zones], calendar.astype("datetime64[M]").astype(int) % 12 + 1
    most = max(float(seconds.sum(axis=1).max(initial=0.0)), 1e-9)
    found = []
    for number, month in enumerate(seasons.months):
        own = seasons.month == number

        def mean(values: NDArray[np.generic], own: NDArray[np.bool_] = own) -> float:
            return float(values[:, own].sum(axis=1).mean())

        waters, pattern = seconds[number].any(), chosen.patterns[number]
        run = mean(chosen.season.slot == number) if waters else 0.0
        dates = calendar[pattern.on(calendar) & (stamp == month)] if waters else calendar[:0]
        found.append(
            MonthWater(
                month=month,
                reference=mean(seasons.reference),
                need=mean(seasons.need),
                rain=mean(seasons.rain),
                effective=mean(seasons.effective),
                nights=pattern.words if waters else "none",
                planned=mean(chosen.planned) if waters else 0.0,
                run=run,
                seconds=dict(zip(names, seconds[number].tolist(), strict=True)),
                baseline=dict(zip(names, base[number].tolist(), strict=True)),
                water=run * float(seconds[number] @ ground.flow),
                percent=100 * float(seconds[number].sum()) / most,
                dates=tuple(dates.astype(str).tolist()),
            )
        )
    return tuple(found)


def _allowance(seasons: Seasons, ground: WateredGround, months: tuple[MonthWater, ...]) -> Allowance:
    month, reference = seasons.peak
    baseline = float(reference.mean()) * ground.area
    return Allowance(
        month=month,
        reference=float(reference.mean()),
        area=ground.area,
        baseline=baseline,
        allowance=ALLOWED * baseline,
        programme=next((m.water for m in months if m.month == month), 0.0),
    )


def _series(
    chosen: Chosen, seasons: Seasons, soil: TurfSoil, ground: WateredGround, yard: Yard, seconds: Floats
) -> DayByDay:
    """The season whose water is nearest to the mean, on the driest kept ground and on ground that gets the mean."""
    water = volumes(chosen.season, seconds, ground.flow, month=seasons.month).sum(axis=1)
    year = int(np.abs(water - water.mean()).argmin())
    kept = ground.kept(yard.watering_terms.kept)
    trial = tried(chosen.season, kept, seconds)
    driest = int(trial.over(chosen.season)[year].max(axis=0).argmax())
    both = Points(
        np.vstack((kept.rate[driest], ground.points.rate.mean(axis=0))),
        np.array([kept.need[driest], ground.points.need.mean()]),
    )
    profile = profile_of(yard.soil, depth=soil.roots)
    balance = worst_balance(chosen.season, soil, profile, both, seconds, year)
    nights = chosen.season.slot[year]
    busy = np.append(seconds.sum(axis=1), 0.0)[np.where(nights == NO_NIGHT, len(seconds), nights)]
    return DayByDay(
        year=seasons.years[year],
        days=tuple(seasons.days[year].astype(str).tolist()),
        need=tuple(seasons.need[year].tolist()),
        rain=tuple(seasons.rain[year].tolist()),
        water=tuple(balance.water[:, 0].tolist()),
        depletion=tuple(balance.depletion[:, 0].tolist()),
        middle=tuple(balance.depletion[:, 1].tolist()),
        limit=tuple(chosen.season.limit[year].tolist()),
        minutes=tuple((busy / 60).tolist()),
    )
