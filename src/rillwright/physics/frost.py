"""Frost in the ground: freezing index, thermal figures of soil, and how deep the frost goes."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rillwright.errors import InputError
from rillwright.physics.units import FOOT

__all__ = [
    "DAY",
    "LATENT_HEAT",
    "MELTING",
    "berggren_factor",
    "berggren_parameters",
    "freezing_index",
    "frost_depth",
    "frozen_conductivity",
    "snow_conductivity",
    "soil_heat_capacity",
    "soil_latent_heat",
    "stefan_depth",
    "unfrozen_conductivity",
]

Floats = NDArray[np.float64]

DAY = 86400.0  # [s]
MELTING = 273.15  # [K]
LATENT_HEAT = 333.55e3  # [J/kg] of ice; UFC 3-130 rounds to 144 Btu/lb, 0.4 % more

_POUND = 0.45359237  # [kg]
_BTU = 1055.056  # [J] international table
_PCF = _POUND / FOOT**3  # [kg/m³]
_KERSTEN = _BTU / 3600 / 12 / FOOT / (5 / 9)  # [W/m K] of a Btu·in/(ft²·h·°F): 0.1442
_SPECIFIC = _BTU / _POUND / (5 / 9)  # [J/kg K] of a Btu/(lb·°F)


def freezing_index(means: ArrayLike) -> float:
    """Air-freezing index of one winter.

    Parameters: means (days,) [K], daily mean temperatures in order, from a warm season to the next; a day without a
    reading is nan and counts as melting point. Returns: index [K·s], the largest fall of the running sum of
    (mean - melting point) from any earlier top, so that a thaw between two cold spells counts against them.
    Errors: InputError for no days. Source: UFC 3-130 and NOAA definitions (from memory).

    >>> freezing_index([MELTING - 5.0] * 30) / DAY
    150.0
    """
    kelvins = np.asarray(means, dtype=float)
    if kelvins.ndim != 1 or not len(kelvins):
        raise InputError("a freezing index needs a row of daily mean temperatures: give at least one day")
    run = np.concatenate([[0.0], np.cumsum(np.nan_to_num(kelvins - MELTING, nan=0.0))])
    return float((np.maximum.accumulate(run) - run).max()) * DAY


def soil_latent_heat(dry_density: float, *, water: float, latent: float = LATENT_HEAT) -> float:
    """Give the heat [J/m³] that freezes the water in a soil of a dry density [kg/m³], water as a share of dry mass.

    All of the water is taken to freeze at the melting point; in clay some stays liquid (frost then goes a little
    deeper). Source: UFC 3-130-06 (from memory), L = 144 · density · w/100.
    """
    return latent * dry_density * water


def soil_heat_capacity(dry_density: float, *, water: float) -> float:
    """Give the mean heat capacity [J/m³ K] of a soil, frozen and not: density · (0.17 + 0.75 w) Btu/(lb·°F).

    Source: UFC 3-130-06: 0.17 for the solids, 0.75 the mean of ice (0.5) and water (1.0).

    >>> round(soil_heat_capacity(100 * _PCF, water=0.15) / (_BTU / FOOT**3 / (5 / 9)), 2)  # Btu/(ft³·°F)
    28.25
    """
    return dry_density * (0.17 + 0.75 * water) * _SPECIFIC


def frozen_conductivity(dry_density: float, *, water: float, fine: bool) -> float:
    """Conductivity of a frozen soil.

    Parameters: dry_density [kg/m³], 900 to 2100; water, share of dry mass, up to 0.4; fine, half or more silt and clay.
    Returns: [W/m K], within about 25 % of measurements. Errors: InputError for other values.
    Source: Kersten, Bulletin 28, University of Minnesota (1949), from memory:
    fine 0.01·10^(0.022 g) + 0.085·10^(0.008 g) w, sand 0.076·10^(0.013 g) + 0.032·10^(0.0146 g) w,
    in Btu·in/(ft²·h·°F), g in lb/ft³ and w in %.

    >>> round(frozen_conductivity(1600, water=0.15, fine=False), 2)
    2.21
    """
    g, w = _checked(dry_density, water)
    if fine:
        return _KERSTEN * (0.01 * 10 ** (0.022 * g) + 0.085 * 10 ** (0.008 * g) * w)
    return _KERSTEN * (0.076 * 10 ** (0.013 * g) + 0.032 * 10 ** (0.0146 * g) * w)


def unfrozen_conductivity(dry_density: float, *, water: float, fine: bool) -> float:
    """Conductivity [W/m K] of a soil that is not frozen; parameters, range and source as frozen_conductivity.

    Fine (0.9 log w - 0.2)·10^(0.01 g) from 7 % of water, sand (0.7 log w + 0.4)·10^(0.01 g) from 1 %.
    """
    g, w = _checked(dry_density, water)
    share = 0.9 * math.log10(max(w, 7.0)) - 0.2 if fine else 0.7 * math.log10(max(w, 1.0)) + 0.4
    return _KERSTEN * share * 10 ** (0.01 * g)


def _checked(dry_density: float, water: float) -> tuple[float, float]:
    """Dry density [lb/ft³] and water [%]."""
    if not (900 <= dry_density <= 2100 and 0 < water <= 0.4):
        raise InputError(
            f"soil of {dry_density:g} kg/m³ with {water:g} of its dry mass in water lies outside what was measured: "
            "900 to 2100 kg/m³, water up to 0.4"
        )
    return dry_density / _PCF, 100 * water


def snow_conductivity(density: float) -> float:
    """Conductivity of seasonal snow.

    Parameters: density [kg/m³], 156 to 600. Returns: [W/m K] 0.138 - 1.01 r + 3.233 r², r in g/cm³.
    Errors: InputError outside that. Source: Sturm and others, Journal of Glaciology 43 (1997) 26, from memory.

    >>> round(snow_conductivity(250), 3)
    0.088
    """
    if not 156 <= density <= 600:
        raise InputError(f"snow of {density:g} kg/m³ lies outside what was measured: 156 to 600 kg/m³")
    r = density / 1000
    return 0.138 - 1.01 * r + 3.233 * r * r


def stefan_depth(index: float, *, conductivity: float, latent: float) -> float:
    """Depth of frost where the ground's own heat is left out: the most it can be.

    Parameters: index [K·s] at the surface of the ground; conductivity [W/m K] of frozen soil; latent [J/m³].
    Returns: depth [m] sqrt(2 k I / L). Source: Stefan's formula, UFC 3-130-06.

    >>> round(stefan_depth(1389 * DAY, conductivity=1.3, latent=80.2e6), 2)
    1.97
    """
    return math.sqrt(2 * conductivity * max(index, 0.0) / latent)


def berggren_parameters(
    index: float, *, season: float, mean: float, heat_capacity: float, latent: float
) -> tuple[float, float]:
    """Thermal ratio and fusion parameter of a winter.

    Parameters: index [K·s] at the surface; season [s], length of the freezing season; mean [K], mean temperature of
    the year; heat_capacity [J/m³ K]; latent [J/m³]. Returns: alpha = (mean - melting point) / v and mu = v C / L, with
    v = index / season. Errors: InputError for a season or an index that is not positive.
    Source: Aldrich and Paynter (1953), UFC 3-130-06.
    """
    if season <= 0 or index <= 0:
        raise InputError(f"a freezing season needs some length and some frost, not {season:g} s and {index:g} K·s")
    freezing = index / season
    return max(mean - MELTING, 0.0) / freezing, freezing * heat_capacity / latent


def berggren_factor(alpha: float, mu: float) -> float:
    """Share of Stefan's depth that frost reaches: lambda of the modified Berggren formula.

    Parameters: thermal ratio and fusion parameter [-], alpha not negative, mu above 0. Returns: lambda = z sqrt(2/mu)
    with exp(-z²)/erf(z) - alpha exp(-z²)/erfc(z) = sqrt(pi) z / mu, Neumann's solution for a step of the surface's
    temperature, soil alike when frozen and not. Errors: InputError for other values.
    Source: Neumann in Carslaw and Jaeger; Aldrich and Paynter (1953) draw it as a chart (from memory). Aldrich's closed
    form 1/sqrt(1 + mu (alpha + 1/2)) gives 3 % more at alpha 1/3 and mu 0.2, 37 % more at alpha 4 and mu 0.06.

    >>> round(berggren_factor(1 / 3, 0.204), 3)
    0.896
    """
    from scipy.optimize import brentq

    if alpha < 0 or mu <= 0:
        raise InputError(f"thermal ratio {alpha:g} must not be negative, fusion parameter {mu:g} exceed 0")

    def miss(z: float) -> float:
        cold = math.exp(-z * z) / math.erf(z)
        warm = alpha * math.exp(-z * z) / math.erfc(z)
        return cold - warm - math.sqrt(math.pi) * z / mu

    return float(brentq(miss, 1e-9, 5.0, xtol=1e-12)) * math.sqrt(2 / mu)


def frost_depth(index: float, *, conductivity: float, latent: float, factor: float = 1.0, cover: float = 0.0) -> float:
    """Depth of frost in one soil under something that holds no water, such as dry snow or bark.

    Parameters: index [K·s] at the surface of the cover; conductivity [W/m K] of frozen soil; latent [J/m³]; factor,
    lambda; cover [m² K/W], its thermal resistance. Returns: depth [m] below the soil's surface; without cover it is
    factor times stefan_depth. Source: UFC 3-130-06, layered modified Berggren: each layer takes
    index = L d / lambda² · (sum of R over it + d / 2k) (from memory).

    >>> round(frost_depth(1389 * DAY, conductivity=1.3, latent=80.2e6, factor=0.92), 2)
    1.81
    """
    share = 2 * factor**2 * max(index, 0.0) / (conductivity * latent)
    return conductivity * (math.sqrt(cover * cover + share) - cover)
