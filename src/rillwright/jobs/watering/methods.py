"""Ways to set the minutes, each tried on every season: by the multiplier, raised, the programme, and with foresight."""

from collections.abc import Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.watering.clock import hours_of_night
from rillwright.jobs.watering.ground import WateredGround
from rillwright.jobs.watering.nights import Pattern, slots_of
from rillwright.jobs.watering.seasons import Seasons, TurfSoil, limits
from rillwright.model.site import Watering
from rillwright.solvers.season import Least, Points, Season, foreseen, least_water, tried
from rillwright.solvers.season.trial import NO_NIGHT
from rillwright.solvers.soil_water import Balance, water_balance
from rillwright.solvers.soil_water.profile import Profile

__all__ = [
    "Chosen",
    "baseline_seconds",
    "choose_nights",
    "foresight",
    "raised",
    "season_of",
    "volumes",
    "with_nights",
    "worst_balance",
]

Floats = NDArray[np.float64]

WORTH = 0.03  # of the water that fewer nights may cost more; deeper and rarer is better for roots; judgement
FORESEEN_POINTS = 24  # of a group of zones
FULLEST = 8.0  # times the baseline that `raised` tries at the most
KEEPS = 1e-5  # [m] over its limit at which ground counts as kept


@dataclass(frozen=True, slots=True, eq=False)
class Chosen:
    """Nights of each month with their least programme."""

    patterns: tuple[Pattern, ...]
    season: Season
    planned: NDArray[np.bool_]  # (years, days)
    least: Least


def season_of(
    seasons: Seasons, soil: TurfSoil, patterns: Sequence[Pattern], *, skip: float
) -> tuple[Season, NDArray[np.bool_]]:
    """The seasons under some nights."""
    slot, planned = slots_of(tuple(patterns), days=seasons.days, month=seasons.month, rain=seasons.rain, skip=skip)
    return Season(seasons.need, seasons.effective, limits(seasons.need, soil), slot), planned


def choose_nights(
    seasons: Seasons,
    soil: TurfSoil,
    ground: WateredGround,
    allowed: Sequence[Pattern],
    watering: Watering,
    *,
    room: float = 1.0,
) -> Chosen:
    """The fewest nights whose least programme costs hardly more water than the best found.

    All months alike first, then each month's nights are made fewer or more while that pays. Parameters: room, share of
    the hours of a night that runs may fill.
    """

    def solved(chosen: tuple[Pattern, ...]) -> Chosen:
        return with_nights(chosen, seasons, soil, ground, watering, room=room)

    alike = [solved((pattern,) * len(seasons.months)) for pattern in allowed]
    best = _fewest(alike)
    if best.least.status != "optimal":
        return best
    for number in range(len(seasons.months)):
        tries = [best]
        for pattern in allowed:
            if (
                pattern != best.patterns[number]
                and abs(allowed.index(pattern) - allowed.index(best.patterns[number])) <= 2
            ):
                tries.append(solved((*best.patterns[:number], pattern, *best.patterns[number + 1 :])))
        best = _fewest(tries)
    return best


def with_nights(
    chosen: tuple[Pattern, ...],
    seasons: Seasons,
    soil: TurfSoil,
    ground: WateredGround,
    watering: Watering,
    *,
    room: float = 1.0,
) -> Chosen:
    """The least programme on given nights of each month; room as for choose_nights."""
    points, hours = ground.kept(watering.kept), room * hours_of_night(watering)
    season, planned = season_of(seasons, soil, chosen, skip=watering.rain_skip)
    weight = _weight(season, len(seasons.months), ground.flow)
    return Chosen(chosen, season, planned, least_water(season, points, weight=weight, hours=hours))


def _fewest(found: Sequence[Chosen]) -> Chosen:
    short = min(float(one.least.short.sum()) for one in found)
    sound = [one for one in found if one.least.short.sum() <= short + 1e-4]
    least = min(one.least.cost for one in sound)
    near = [one for one in sound if one.least.cost <= (1 + WORTH) * least]
    return min(near, key=lambda one: (one.planned.sum(), one.least.cost))


def _weight(season: Season, slots: int, flow: Floats) -> Floats:
    """Volume [m³] a season for each second of a night, by slot and zone."""
    nights = np.array([(season.slot == slot).sum() for slot in range(slots)]) / len(season.slot)
    return np.maximum(nights, 1e-3)[:, None] * flow


def baseline_seconds(seasons: Seasons, planned: NDArray[np.bool_], ground: WateredGround) -> Floats:
    """Seconds (months, zones) by the multiplier: the month's mean need between two nights, over the zone's net rate."""
    slots = len(seasons.months)
    need = np.array([seasons.need[:, seasons.month == m].mean() for m in range(slots)])
    apart = np.array(
        [
            (seasons.month == m).sum() / max(planned[:, seasons.month == m].sum(axis=1).mean(), 1e-9)
            for m in range(slots)
        ]
    )
    zone = np.array([z.need * z.multiplier / max(z.net_rate, 1e-9) for z in ground.zones])
    return np.asarray((need * apart)[:, None] * zone, dtype=float)


def raised(season: Season, points: Points, seconds: Floats) -> tuple[float, bool]:
    """Least factor on all seconds that keeps every point within its limit, and whether one does.

    Where none up to FULLEST does, the least that keeps as much as that: more would only run off deep.
    """

    def passed(factor: float) -> float:
        return float(tried(season, points, factor * seconds).over(season).max())

    low, high, most = 0.0, FULLEST, max(passed(FULLEST), 0.0) + KEEPS
    while high - low > 1e-3:
        middle = (low + high) / 2
        if passed(middle) > most:
            low = middle
        else:
            high = middle
    return high, most <= 2 * KEEPS


def foresight(
    season: Season,
    points: Points,
    planned: NDArray[np.bool_],
    *,
    seconds: Floats,
    month: NDArray[np.int64],
    flow: Floats,
) -> Floats:
    """Least water [m³] of each season and month, shape (years, slots), for one who knows the weather to come.

    Each night is set by itself.
    Of zones that share ground only the FORESEEN_POINTS driest points under the programme count, so it is a bound. Hours
    are not counted, and of zones that share no ground each is solved by itself.
    """
    zones = len(flow)
    links = nx.Graph()
    links.add_nodes_from(range(zones))
    for row in points.rate > 0:
        wet = np.flatnonzero(row)
        links.add_edges_from((int(wet[0]), int(z)) for z in wet[1:])
    dryness = tried(season, points, seconds).over(season).max(axis=(0, 1))
    total = np.zeros((len(season.need), len(seconds)))  # the last months may have no night that rain spares
    for year in range(len(total)):
        nights = np.flatnonzero(planned[year])
        slot = np.full(planned.shape[1], NO_NIGHT)
        slot[nights] = np.arange(len(nights))
        one = Season(season.need[[year]], season.rain[[year]], season.limit[[year]], slot[None, :])
        for group in nx.connected_components(links):
            own = np.array(sorted(group))
            inside = (points.rate[:, own] > 0).any(axis=1)
            if not inside.any():
                continue
            dry = np.flatnonzero(inside)[np.argsort(-dryness[inside], kind="stable")[:FORESEEN_POINTS]]
            part = Points(points.rate[dry][:, own], points.need[dry])
            water = foreseen(one, part, flow=flow[own]).seconds @ flow[own]
            total[year] += np.bincount(month[nights], water, minlength=total.shape[1])
    return total


def volumes(season: Season, seconds: Floats, flow: Floats, *, month: NDArray[np.int64]) -> Floats:
    """Water of each season and month [m³], shape (years, months), by runs (slots, zones) [s]; month (days,)."""
    by_day = np.append(seconds @ flow, 0.0)[season.slot]  # NO_NIGHT reads the last
    return np.stack([by_day[:, month == number].sum(axis=1) for number in range(int(month.max()) + 1)], axis=1)


def worst_balance(
    season: Season, soil: TurfSoil, profile: Profile, points: Points, seconds: Floats, year: int
) -> Balance:
    """The balance in layers of one season at some points."""
    padded = np.vstack((seconds, np.zeros(seconds.shape[1])))
    water = (padded @ points.rate.T)[season.slot[year]]
    days = water.shape[0]
    return water_balance(
        profile,
        demand=season.need[year][:, None] * points.need,
        rain=season.rain[year],
        water=water,
        roots=np.full(days, soil.roots),
        depletion=soil.turf.depletion,
    )
