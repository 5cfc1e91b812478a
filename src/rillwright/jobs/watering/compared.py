"""Ways to set the minutes compared: each tried on every season, its water, cost, dry days and worst spot."""

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.money.water import water_bill
from rillwright.jobs.watering.ground import WateredGround
from rillwright.jobs.watering.methods import Chosen, foresight, raised, volumes, worst_balance
from rillwright.jobs.watering.seasons import Seasons, TurfSoil
from rillwright.jobs.watering.weather_led import weather_led
from rillwright.model.site import Yard
from rillwright.model.watering import Method, MethodName, YearWater
from rillwright.solvers.season import Points, Season, binding_points, tried
from rillwright.solvers.soil_water import profile_of

__all__ = ["compared", "saved", "season_cost"]

Floats = NDArray[np.float64]

LACKS = 1e-4  # [m] over its limit from which ground counts as lacking


def compared(
    chosen: Chosen,
    seasons: Seasons,
    soil: TurfSoil,
    ground: WateredGround,
    yard: Yard,
    seconds: Floats,
    base: Floats,
) -> tuple[tuple[Method, ...], tuple[YearWater, ...]]:
    """Each way, and each season's water by each.

    Parameters: seconds (months, zones) of the programme; base, those by the multiplier.
    """
    points, everywhere = ground.kept(yard.watering_terms.kept), binding_points(ground.points)
    season, flow = chosen.season, ground.flow
    factor, kept = raised(season, points, base)
    led, nightly = weather_led(season, ground)
    more, kept_led = raised(led, points, nightly)
    ways: list[tuple[MethodName, Season, Floats, str]] = [
        ("by the multiplier", season, base, "month's mean need, no rain counted but the switch's nights"),
        ("multiplier raised", season, factor * base, _raised_words(factor, kept)),
        (
            "weather-led raised",
            led,
            more * nightly,
            f"what was used since the last night, {_raised_words(more, kept_led)}",
        ),
        ("programme", season, seconds, f"least water for all seasons, {chosen.least.status}; then whole minutes"),
    ]
    water: dict[MethodName, Floats] = {}
    methods = []
    for name, days, way, proven in ways:
        water[name] = volumes(days, way, flow, month=seasons.month)
        over = float((tried(days, points, way).over(days) > LACKS).any(axis=2).sum(axis=1).mean())
        lack = _lack(days, soil, yard, everywhere, way)
        methods.append(_method(name, water[name], seasons, yard, over, lack, proven))
    name = "with foresight"
    water[name] = foresight(season, points, chosen.planned, seconds=seconds, month=seasons.month, flow=flow)
    proven = "least water of each season for one who knows its weather: no programme uses less"
    methods.append(_method(name, water[name], seasons, yard, 0.0, 0.0, proven))
    by_year = tuple(
        YearWater(
            year=year,
            need=float(seasons.need[i].sum()),
            rain=float(seasons.effective[i].sum()),
            water={name: float(values[i].sum()) for name, values in water.items()},
        )
        for i, year in enumerate(seasons.years)
    )
    return tuple(methods), by_year


def saved(methods: tuple[Method, ...]) -> float:
    """Water [m³] a season that the programme saves against the multiplier raised."""
    by_name = {method.name: method.water for method in methods}
    return by_name["multiplier raised"] - by_name["programme"]


def _method(
    name: MethodName, water: Floats, seasons: Seasons, yard: Yard, over: float, lack: float, proven: str
) -> Method:
    season = water.sum(axis=1)
    return Method(
        name=name,
        water=float(season.mean()),
        low=float(season.min()),
        high=float(season.max()),
        cost=season_cost(yard, seasons.months, water.mean(axis=0)),
        over_days=over,
        lack=lack,
        proven=proven,
    )


def season_cost(yard: Yard, months: tuple[int, ...], water: Floats) -> float | None:
    """What a season's water [m³] by month adds to the bills; None where the yard has no tariff."""
    if yard.money.tariff is None:
        return None
    total = float(water.sum())
    shares = np.zeros(12)
    shares[np.array(months) - 1] = water / max(total, 1e-12)
    return water_bill(yard.money.tariff, total, by_month=shares.tolist()).cost


def _raised_words(factor: float, kept: bool) -> str:
    if kept:
        return f"times {factor:.2f}, the least that keeps the same ground"
    return f"times {factor:.2f}; more does not keep the same ground either"


def _lack(season: Season, soil: TurfSoil, yard: Yard, everywhere: Points, seconds: Floats) -> float:
    """Share of its need that the worst spot of all did not get, mean of the seasons."""
    profile = profile_of(yard.soil, depth=soil.roots)
    found = []
    for year in range(len(season.need)):
        balance = worst_balance(season, soil, profile, everywhere, seconds, year)
        demand = season.need[year].sum() * everywhere.need
        found.append(float((1 - balance.use.sum(axis=0) / np.maximum(demand, 1e-12)).max()))
    return max(float(np.mean(found)), 0.0)
