"""Dates of frost: seasons cut from a record, quantiles with their band, and parts through nights."""

import csv
from pathlib import Path

import numpy as np
import pytest
import vega_datasets

from rillwright.model.winter_tables import load_winter
from rillwright.physics.frost import (
    DAY,
    MELTING,
    frozen_conductivity,
    soil_heat_capacity,
    soil_latent_heat,
    unfrozen_conductivity,
)
from rillwright.solvers.cold_bodies import clear_sky_drop, exposed_body, harmed_days, harmful_low, one_night
from rillwright.solvers.freeze_dates import RISK, frost_reaches, split_seasons, turning
from rillwright.solvers.frost import climate_of, frost_lines, index_needed

TABLES = load_winter()


def seattle():
    """Daily weather of Seattle 2012 to 2015, open data in vega_datasets."""
    file = Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv"
    with file.open() as lines:
        rows = list(csv.DictReader(lines))
    days = np.array([row["date"].replace("/", "-") for row in rows], dtype="datetime64[D]")
    low, high = (np.array([float(row[name]) for row in rows]) + 273.15 for name in ("temp_min", "temp_max"))
    return days, low, high


def body(kind="pressure vacuum breaker", **changes):
    return exposed_body(kind, kind, TABLES.bodies[kind], **{"count": 1, "insulation": 0.0} | changes)


def test_four_years_of_days_hold_three_winters():
    days, low, high = seattle()
    seasons = split_seasons(days, low, high, southern=False)
    assert [str(season.start) for season in seasons] == ["2012-07-01", "2013-07-01", "2014-07-01"]
    assert all(len(season.days) in (365, 366) for season in seasons)
    south = split_seasons(days, low, high, southern=True)
    assert [str(season.start) for season in south] == [f"{year}-01-01" for year in (2012, 2013, 2014, 2015)]


def test_gaps_are_bridged_and_long_ones_leave_the_winter_out():
    days, low, high = seattle()
    low = low.copy()
    low[400:405] = np.nan  # within the winter of 2012
    assert len(split_seasons(days, low, high, southern=False)) == 3
    low[400:415] = np.nan
    assert len(split_seasons(days, low, high, southern=False)) == 2


def test_the_first_frost_is_that_of_the_record():
    """A bare part is harmed on about the first night that the record has below freezing, never long before it."""
    days, low, high = seattle()
    part = body()
    drop = clear_sky_drop(TABLES.bodies["pressure vacuum breaker"].diameter)
    for season in split_seasons(days, low, high, southern=False):
        first = int(np.flatnonzero(season.low <= MELTING)[0])
        ours = int(np.flatnonzero(harmed_days(part, low=season.low, high=season.high, drop=drop))[0])
        assert abs(ours - first) <= 3


def test_foam_and_mass_hold_longer():
    drop = clear_sky_drop(0.06)
    lows = [harmful_low(body(insulation=r), swing=10.0, drop=drop) for r in (0.0, 0.2, 0.4)]
    assert lows == sorted(lows, reverse=True)
    assert lows[0] > lows[-1] + 0.3
    small, large = body("atmospheric vacuum breaker"), body("reduced pressure zone")
    assert small.hours_to_harm < large.hours_to_harm
    cold, mild = (one_night(body(), low=MELTING + t, high=MELTING + 8, drop=drop) for t in (-6.0, 4.0))
    assert cold.harmed
    assert 0 < cold.hours < 18 * 3600
    assert not mild.harmed
    assert mild.ice == 0


def test_a_sample_with_a_known_quantile():
    """A normal sample of 40 years: mean 110, sd 12, the 5 % quantile 110 - 1.645 · 12 = 90.3 within its band."""
    dice = np.random.default_rng(4)
    inside = 0
    for _ in range(300):
        days = dice.normal(110.0, 12.0, 15)
        found = turning(list(days), first=True)
        inside += found.low <= 110 - 1.6449 * 12 <= found.high
    assert 0.86 <= inside / 300 <= 0.94  # a 90 % band, 300 samples: 1.7 % of standard error
    assert found.low < found.safe < found.high
    last = turning([-day for day in days], first=False)
    assert last.safe == pytest.approx(-found.safe)
    assert (last.low, last.high) == pytest.approx((-found.high, -found.low))


def test_a_long_record_is_counted_too():
    """Weibull's plotting positions: of 39 days the second stands at 2/40, 1 year in 20."""
    days = [100 + 2 * n for n in range(39)]
    assert turning(days, first=True).counted == pytest.approx(102)
    assert turning(days, first=False).counted == pytest.approx(days[-2])
    assert turning(days[:18], first=True).counted is None


def test_few_years_say_nothing_and_rare_harm_has_no_date():
    assert turning([100, 110], first=True).safe is None
    assert turning([None] * 20, first=True).harmed == 0
    rare = turning([100, 110, 120, *[None] * 70], first=True)
    assert RISK * 73 / 3 > 1
    assert rare.safe is None
    half = turning([100, 110, 120, 105, *[None] * 4], first=True)
    assert half.safe > turning([100, 110, 120, 105], first=True).safe  # 1 in 10 of those with harm


def test_frost_comes_down_later_the_deeper_and_leaves():
    days, low, high = seattle()
    season = split_seasons(days, low - 8.0, high - 8.0, southern=False)[1]  # a colder place of the same weather
    climate = climate_of([(season.days, season.means)], snow=0.0, source="test")
    turf = frost_lines(climate, TABLES.soils["loam"], TABLES)[0]
    firsts = []
    for depth in (0.05, 0.15, 0.3):
        reached = frost_reaches(season, index_needed(depth, turf, TABLES.soils["loam"]))
        assert not reached[0]
        assert not reached[-1]
        firsts.append(int(np.flatnonzero(reached)[0]))
    assert firsts == sorted(firsts)
    assert index_needed(turf.design, turf, TABLES.soils["loam"]) == pytest.approx(climate.design, rel=1e-6)


def ground_under(air, *, n, soil, deep):
    """Depths [m] and whether they are frozen on each day: heat conducted in layers of 25 mm, latent heat in the first
    tenth of a kelvin under the melting point, explicit in time, at 4 m the year's mean. Kersten's conductivities."""
    frozen, warm = (
        law(soil.dry_density, water=soil.water, fine=soil.fine) for law in (frozen_conductivity, unfrozen_conductivity)
    )
    heat, latent = (law(soil.dry_density, water=soil.water) for law in (soil_heat_capacity, soil_latent_heat))
    step, layer = 300.0, 0.025
    full = np.full(160, heat * deep)  # [J/m³] over ice at the melting point, less its latent heat
    ice = []
    for mean in air:
        surface = mean - MELTING if mean > MELTING else n * (mean - MELTING)
        for _ in range(int(DAY / step)):
            kelvin = np.where(full < -latent, (full + latent) / heat, np.maximum(full, 0.0) / heat)
            conductivity = np.where(full < -latent / 2, frozen, warm)
            between = 2 / (1 / conductivity[1:] + 1 / conductivity[:-1])
            flow = np.concatenate(([2 * conductivity[0] * (surface - kelvin[0])], between * -np.diff(kelvin), [0.0]))
            full = full - np.diff(flow) * step / layer**2
            full[-1] = heat * deep
        ice.append(full < -latent / 2)
    return layer * (np.arange(160) + 0.5), np.array(ice)


def test_frost_leaves_no_sooner_than_heat_conduction_thaws_it_nor_a_fortnight_later():
    """A winter of -12 to 20 °C in monthly mean, as of the northern plains (invented): the same ground solved as heat
    conduction with phase change, apart from the program's formulas, at the depths of valves and laterals."""
    days = np.arange("2020-07-01", "2021-07-01", dtype="datetime64[D]")
    mean = MELTING + 4 + 16 * np.cos(2 * np.pi * (np.arange(365) - 20) / 365)
    season = split_seasons(days, mean - 5, mean + 5, southern=False)[0]
    soil = TABLES.soils["loam"]
    turf = frost_lines(climate_of([(season.days, season.means)], snow=0.0, source="test"), soil, TABLES)[0]
    depths, ice = ground_under(season.means, n=turf.n, soil=soil, deep=4.0 + 4.0)
    for depth in (0.15, 0.25, 0.35):
        ours = np.flatnonzero(frost_reaches(season, index_needed(depth, turf, soil)))[-1]
        theirs = np.flatnonzero(ice[:, np.abs(depths - depth).argmin()])[-1]
        assert theirs <= ours <= theirs + 14, (depth, ours, theirs)


def test_design_winters():
    """UFC 3-130, from memory: the mean of the three coldest of thirty winters, or the coldest of ten."""
    winters = [(np.arange(3), np.array([MELTING - n, MELTING + 5, MELTING + 5])) for n in range(1, 31)]
    index = [climate_of(winters[:n], snow=0.0, source="test").design / DAY for n in (5, 10, 30)]
    assert index == pytest.approx([5, 10, 29])
    assert "too few" in climate_of(winters[:5], snow=0.0, source="test").design_is
