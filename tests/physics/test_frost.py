"""Frost depth against a published worked case, the exact solution and an independent numerical run."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.errors import InputError
from rillwright.physics import frost
from rillwright.physics.frost import DAY, MELTING
from rillwright.physics.units import FOOT

BTU, POUND = 1055.056, 0.45359237
PER_CUBIC_FOOT = BTU / FOOT**3
CONDUCTIVITY = 0.76 * BTU / 3600 / FOOT / (5 / 9)  # 0.76 Btu/(h·ft·°F)
INDEX = 2500 * 5 / 9 * DAY  # n F = 2500 °F·day
LATENT = 2160 * PER_CUBIC_FOOT
DENSITY = 100 * POUND / FOOT**3


def test_worked_case_of_the_army_and_air_force_manual():
    """UFC 3-130-06 chapter 3, homogeneous soil, from memory: 37.2 °F, 160 days, 100 lb/ft³, 15 %, k 0.76, nF 2500.

    Printed alpha 0.33, mu 0.20, lambda 0.92 off a chart, 6.0 ft; Stefan's depth is 6.50 ft by arithmetic. The exact
    lambda is 0.896, 5.82 ft: the chart is read, and lies 3 % over it.
    """
    alpha, mu = frost.berggren_parameters(
        INDEX,
        season=160 * DAY,
        mean=MELTING + 5.2 * 5 / 9,
        heat_capacity=28.25 * PER_CUBIC_FOOT / (5 / 9),
        latent=LATENT,
    )
    assert (round(alpha, 3), round(mu, 3)) == (0.333, 0.204)
    stefan = frost.stefan_depth(INDEX, conductivity=CONDUCTIVITY, latent=LATENT) / FOOT
    assert stefan == pytest.approx(6.50, abs=0.01)
    factor = frost.berggren_factor(alpha, mu)
    assert factor == pytest.approx(0.92, rel=0.03)
    deep = frost.frost_depth(INDEX, conductivity=CONDUCTIVITY, latent=LATENT, factor=factor) / FOOT
    assert deep == pytest.approx(6.0, rel=0.035)
    assert deep == pytest.approx(factor * stefan, rel=1e-12)


def test_heats_as_the_manual_prints_them():
    """UFC 3-130-06: L = 144 · 100 · 0.15 = 2160 Btu/ft³; C = 100 (0.17 + 0.75 · 0.15) = 28.25 Btu/(ft³·°F)."""
    latent = frost.soil_latent_heat(DENSITY, water=0.15, latent=144 * BTU / POUND)
    assert latent / PER_CUBIC_FOOT == pytest.approx(2160, rel=1e-9)
    assert pytest.approx(144 * BTU / POUND, rel=0.005) == frost.LATENT_HEAT  # the manual rounds it
    capacity = frost.soil_heat_capacity(DENSITY, water=0.15)
    assert capacity / (PER_CUBIC_FOOT / (5 / 9)) == pytest.approx(28.25, rel=1e-9)


@pytest.mark.parametrize(("alpha", "mu"), [(0.0, 0.2), (0.33, 0.2), (2.0, 0.06)])
def test_lambda_against_a_numerical_run_of_freezing_ground(alpha, mu):
    """Heat in 10 m of soil in finite volumes, enthalpy as the state: nothing of Neumann's solution in it."""
    capacity, conductivity, season = 2.0e6, 1.5, 60 * DAY
    cold = 6.0  # [K] under melting at the surface
    latent = cold * capacity / mu
    cells, deep = 400, 10.0
    dx = deep / cells
    step = 0.4 * dx * dx * capacity / conductivity
    heat = np.full(cells, alpha * cold * capacity + latent)  # [J/m³] over ice at melting point
    for _ in range(round(season / step)):
        warm = np.where(heat > latent, heat - latent, np.minimum(heat, 0.0)) / capacity
        flux = np.empty(cells + 1)
        flux[0] = conductivity * (-cold - warm[0]) / (dx / 2)
        flux[1:-1] = conductivity * (warm[:-1] - warm[1:]) / dx
        flux[-1] = 0.0
        heat += step * (flux[:-1] - flux[1:]) / dx
    frozen = dx * float(np.clip(1 - heat / latent, 0.0, 1.0).sum())
    stefan = frost.stefan_depth(cold * season, conductivity=conductivity, latent=latent)
    assert frozen / stefan == pytest.approx(frost.berggren_factor(alpha, mu), rel=0.01)


def test_index_of_a_steady_month():
    """By the definition: 30 days of 22 °F are 300 °F·day; a warm week in the middle counts against the cold."""
    means = np.full(30, MELTING - 10 * 5 / 9)
    assert frost.freezing_index(means) / DAY * 9 / 5 == pytest.approx(300)
    thawed = np.concatenate([means, np.full(7, MELTING + 2.0), means])
    assert frost.freezing_index(thawed) / DAY == pytest.approx(2 * 300 * 5 / 9 - 14)
    long = np.concatenate([means, np.full(200, MELTING + 10.0), means])
    assert frost.freezing_index(long) == pytest.approx(frost.freezing_index(means))
    with pytest.raises(InputError):
        frost.freezing_index([])


covers = st.floats(0.0, 3.0)


@given(st.floats(0, 5), st.floats(0.01, 1.0))
def test_stefan_is_never_passed(alpha, mu):
    assert 0 < frost.berggren_factor(alpha, mu) < 1


@given(st.floats(0, 3000), covers, covers)
def test_more_cover_is_less_frost(days, one, two):
    thin, thick = sorted((one, two))
    deep = [frost.frost_depth(days * DAY, conductivity=1.4, latent=8e7, cover=c) for c in (thin, thick)]
    assert deep[1] <= deep[0] + 1e-12


def test_wet_soil_conducts_more_and_ice_more_than_water():
    """Kersten 1949, from memory: loam-like soil at 15 % conducts about 1.0 to 1.5 W/(m·K), sand about twice that."""
    fine, sand = (frost.frozen_conductivity(1600, water=0.15, fine=one) for one in (True, False))
    assert 1.0 < fine < 1.6 < sand < 2.6
    assert frost.unfrozen_conductivity(1600, water=0.15, fine=True) < fine
    assert frost.frozen_conductivity(1600, water=0.20, fine=True) > fine
    with pytest.raises(InputError):
        frost.frozen_conductivity(1600, water=0.9, fine=True)


def test_snow_of_sturm():
    """Sturm and others 1997, from memory: 0.138 - 1.01 r + 3.233 r²; 300 kg/m³ about 0.13 W/(m·K)."""
    assert frost.snow_conductivity(300) == pytest.approx(0.126, abs=0.001)
    with pytest.raises(InputError):
        frost.snow_conductivity(50)


def test_refused_winters():
    with pytest.raises(InputError):
        frost.berggren_parameters(0.0, season=DAY, mean=MELTING, heat_capacity=2e6, latent=8e7)
    with pytest.raises(InputError):
        frost.berggren_factor(0.3, 0.0)
    assert math.isclose(frost.stefan_depth(-1.0, conductivity=1.0, latent=8e7), 0.0)
