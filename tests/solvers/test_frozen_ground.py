"""Frozen ground: exact solutions, the same heat solved apart, and what snow that nobody counts does to the day."""

import math

import numpy as np
import pytest
from scipy.linalg import solve_banded
from scipy.optimize import brentq

from rillwright.model.winter_tables import load_winter
from rillwright.physics.frost import (
    DAY,
    MELTING,
    berggren_factor,
    frozen_conductivity,
    snow_conductivity,
    soil_heat_capacity,
    soil_latent_heat,
    stefan_depth,
    unfrozen_conductivity,
)
from rillwright.physics.ground_kernels import ice_in_ground
from rillwright.solvers.freeze_dates import split_seasons
from rillwright.solvers.frozen_ground import frozen_days
from watered_plans import seattle_days

SOILS = load_winter().soils
LAYERS = np.full(250, 0.04)
MELTS = 4.0  # [kg/m² a day and K] snow: Hock 2003 lists 2.5 to 5.5 for open ground, from memory
SNOW = 250.0  # [kg/m³]


@pytest.mark.parametrize(("alpha", "mu"), [(0.0, 0.2), (0.33, 0.2), (2.0, 0.06)])
def test_frost_comes_down_as_neumann_has_it(alpha, mu):
    """Neumann's exact solution for a step of the surface's temperature: Carslaw and Jaeger, section 11.2."""
    capacity, conductivity, cold, days = 2.0e6, 1.5, 6.0, 60
    latent = cold * capacity / mu
    ice = ice_in_ground(np.full(days, -cold), LAYERS, alpha * cold, conductivity, conductivity, capacity, latent)
    stefan = stefan_depth(cold * days * DAY, conductivity=conductivity, latent=latent)
    assert 0.04 * ice[-1].sum() / stefan == pytest.approx(berggren_factor(alpha, mu), rel=0.02)


def test_ice_thaws_from_above_as_neumann_has_it():
    """The same solution the other way round, frozen ground at the melting point: sqrt(pi) x e^(x²) erf(x) = C T / L."""
    capacity, thawed, warm, latent, days = 2.0e6, 1.2, 8.0, 8.0e7, 20
    ice = ice_in_ground(np.full(days, warm), LAYERS, -1e-9, 2.0, thawed, capacity, latent)
    ratio = capacity * warm / latent
    x = brentq(lambda x: math.sqrt(math.pi) * x * math.exp(x * x) * math.erf(x) - ratio, 1e-6, 3)
    depth = 2 * x * math.sqrt(thawed / capacity * days * DAY)
    assert 0.04 * (1 - ice[-1]).sum() == pytest.approx(depth, rel=0.03)


def frozen_apart(seasons, *, n, soil, depths, snow=None):
    """Days (days, depths) on which the ground is frozen, by other means than the program's: implicit in time, by
    Newton, eight steps a day, in layers of 20 mm, 6 m deep; under snow [kg/m² fallen by day], which melts by the
    degree-day, the surface at its melting point or, in frost, under its resistance.
    """
    density, water = soil.dry_density, soil.water
    frozen, thawed = (law(density, water=water, fine=soil.fine) for law in (frozen_conductivity, unfrozen_conductivity))
    capacity, latent = (law(density, water=water) for law in (soil_heat_capacity, soil_latent_heat))
    air = np.concatenate([season.means for season in (seasons[0], *seasons)]) - MELTING
    surface = np.where(air < 0, n * air, air)
    fallen = np.zeros(len(air)) if snow is None else np.concatenate((np.zeros(len(seasons[0].days)), snow))
    layer, step, count = 0.02, DAY / 8, 300
    deep = float(surface[len(seasons[0].days) :].mean())
    heat, lies, found = np.full(count, deep * capacity), 0.0, []

    def kelvins(heat):
        return np.where(heat > 0, heat, np.minimum(heat + latent, 0.0)) / capacity

    for day, outside in enumerate(air):
        lies = max(0.0, lies + fallen[day] - MELTS * max(outside, 0.0))
        over, cover = (min(outside, 0.0), lies / SNOW / snow_conductivity(SNOW)) if lies > 0 else (surface[day], 0.0)
        for _ in range(8):
            before = heat
            conducts = thawed + np.clip(-before / latent, 0, 1) * (frozen - thawed)
            between = 2 / (1 / conducts[1:] + 1 / conducts[:-1]) / layer
            into = np.concatenate(([1 / (cover + layer / 2 / conducts[0])], between, [2 * conducts[-1] / layer]))
            for _ in range(20):
                kelvin = kelvins(heat)
                flow = into * -np.diff(np.concatenate(([over], kelvin, [deep])))
                miss = layer / step * (heat - before) - (flow[:-1] - flow[1:])
                if np.abs(miss).max() < 1e-2:  # [W/m²]
                    break
                slope = np.where((heat > 0) | (heat < -latent), 1 / capacity, 0.0)
                bands = np.zeros((3, count))
                bands[0, 1:], bands[2, :-1] = -between * slope[1:], -between * slope[:-1]
                bands[1] = layer / step + (into[:-1] + into[1:]) * slope
                heat = heat - solve_banded((1, 1), bands, miss)
        found.append(np.interp(depths, layer * (np.arange(count) + 0.5), np.clip(-heat / latent, 0, 1)) >= 0.5)
    return np.array(found)[len(seasons[0].days) :]


@pytest.fixture(scope="module")
def cold_winters():
    """Open weather of three winters, eight kelvins colder: frost that comes, thaws and comes again."""
    days, low, high = seattle_days()
    return split_seasons(days, low - 8.0, high - 8.0, southern=False)


DEPTHS = (0.10, 0.20, 0.30)


@pytest.mark.parametrize(("soil", "n"), [("loam", 0.5), ("sand", 0.7), ("clay", 0.7)])
def test_days_of_frost_agree_with_heat_solved_apart(cold_winters, soil, n):
    """Through thaws and frost that comes back the two call the same days frozen, but for one in fifty of them."""
    ours = frozen_days(cold_winters, DEPTHS, n=n, soil=SOILS[soil])
    theirs = frozen_apart(cold_winters, n=n, soil=SOILS[soil], depths=DEPTHS)
    for one, other in zip(ours, theirs.T, strict=True):
        assert other.sum() > 100
        assert (np.concatenate(one) != other).sum() <= 0.02 * other.sum()


def test_snow_that_lies_holds_frost_for_weeks_longer_as_the_card_warns(cold_winters):
    """Invented snow: 40 cm on 10 February, and 2 mm of water on each day of frost after it. The day that is told counts
    no snow; with it frost leaves up to three weeks later, which is why the card has it waited for."""
    days = np.concatenate([season.days for season in cold_winters])
    air = np.concatenate([season.means for season in cold_winters])
    since = days.astype("datetime64[Y]").astype("datetime64[D]")
    snow = np.where(days == since + 40, 100.0, np.where((air < MELTING) & (days > since + 40), 2.0, 0.0))
    ends = np.cumsum([len(season.days) for season in cold_winters])
    later = []
    for soil, n in (("loam", 0.5), ("sand", 0.7)):
        ours = frozen_days(cold_winters, DEPTHS, n=n, soil=SOILS[soil])
        theirs = frozen_apart(cold_winters, n=n, soil=SOILS[soil], depths=DEPTHS, snow=snow)
        for one, other in zip(ours, theirs.T, strict=True):
            for mine, snowed in zip(one, np.split(other, ends[:-1]), strict=True):
                if mine.any() and snowed.any():
                    later.append(int(np.flatnonzero(snowed)[-1] - np.flatnonzero(mine)[-1]))
    assert 14 <= max(later) <= 21


def test_frost_comes_later_the_deeper_and_not_at_all_in_warm_winters(cold_winters):
    found = frozen_days(cold_winters, (0.05, 0.15, 0.3, 3.0), n=0.7, soil=SOILS["loam"])
    first = [int(np.flatnonzero(one[0])[0]) for one in found[:3]]
    assert first == sorted(first)
    assert not any(season.any() for season in found[3])
    days, low, high = seattle_days()
    warm = split_seasons(days, low + 10.0, high + 10.0, southern=False)
    assert not any(season.any() for season in frozen_days(warm, (0.1,), n=1.0, soil=SOILS["sand"])[0])
