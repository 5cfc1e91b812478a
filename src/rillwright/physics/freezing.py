"""A body full of water in the cold air: how fast it cools, how much of its water freezes, and how much bursts it."""

import math

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.physics.frost import MELTING

__all__ = [
    "FREEZING_EXPANSION",
    "bursting_share",
    "cooling_rate",
    "crossflow_coefficient",
    "daily_air",
    "radiation_coefficient",
]

Floats = NDArray[np.float64]

FREEZING_EXPANSION = 0.0907  # ice at melting point over water: 999.84 / 916.7 - 1

_STEFAN_BOLTZMANN = 5.670374e-8  # [W/m² K⁴]
_AIR_CONDUCTIVITY = 0.0243  # [W/m K] at 0 °C, as the next two; any handbook, from memory
_AIR_VISCOSITY = 1.33e-5  # [m²/s]
_AIR_PRANDTL = 0.711
_COLDEST_HOUR, _WARMEST_HOUR = 6.0, 15.0  # of the day; common practice, no source


def crossflow_coefficient(wind: float, *, diameter: float) -> float:
    """Heat that wind takes off a cylinder across it, near 0 °C.

    Parameters: wind [m/s], above 0; diameter [m]. Returns: [W/m² K]. Range: Reynolds · Prandtl over 0.2, to 20 %.
    Errors: InputError for values that are not positive. Source: Churchill and Bernstein, J. Heat Transfer 99 (1977)
    300, from memory.

    >>> round(crossflow_coefficient(1.0, diameter=0.06), 1)
    14.1
    """
    if wind <= 0 or diameter <= 0:
        raise InputError(f"wind {wind:g} m/s and diameter {diameter:g} m must exceed 0")
    re = wind * diameter / _AIR_VISCOSITY
    lead: float = 0.62 * math.sqrt(re) * _AIR_PRANDTL ** (1 / 3) / (1 + (0.4 / _AIR_PRANDTL) ** (2 / 3)) ** 0.25
    nusselt = 0.3 + lead * (1 + (re / 282_000) ** 0.625) ** 0.8
    return float(nusselt * _AIR_CONDUCTIVITY / diameter)


def radiation_coefficient(emissivity: float = 0.9) -> float:
    """Give the heat [W/m² K] that a body near 0 °C radiates for each kelvin: 4 e s T³.

    >>> round(radiation_coefficient(), 2)
    4.16
    """
    return 4 * emissivity * _STEFAN_BOLTZMANN * MELTING**3


def cooling_rate(*, area: float, coefficient: float, insulation: float, capacity: float) -> tuple[float, float]:
    """Conductance of a body to the air, and one over its time constant.

    Parameters: area [m²]; coefficient [W/m² K] at its outer surface; insulation [m² K/W] round it, 0 for none;
    capacity [J/K] of body and water. Returns: [W/K] area / (1/h + R), and [1/s] that over the capacity.
    The body is taken to be at one temperature: true where its own conductance is far over that to the air, as in brass.
    """
    conductance = area / (1 / coefficient + insulation)
    return conductance, conductance / capacity


def bursting_share(pressure: float, *, give: float) -> float:
    """Share of the water in a closed, full body that must freeze to reach a pressure.

    Parameters: pressure [Pa] gauge that it bears; give [1/Pa], compressibility of the water plus stretch of the walls.
    Returns: [-] pressure · give / 0.0907. Air that is trapped makes it larger. Source: balance of volumes.

    >>> round(bursting_share(2.4e6, give=4.9e-10), 3)
    0.013
    """
    return pressure * give / FREEZING_EXPANSION


def daily_air(low: Floats, high: Floats, hours: Floats) -> Floats:
    """Air temperature through days of known least and greatest values.

    Parameters: low, high (days,) [K]; hours (m,) since the first midnight, within the days. Returns: (m,) [K]: half
    cosines from the warmest hour (15 h) to the next coldest (6 h) and on, held before the first and after the last.
    """
    days = np.arange(len(low))
    turns = np.stack([24 * days + _COLDEST_HOUR, 24 * days + _WARMEST_HOUR], axis=1).ravel()
    values = np.stack([low, high], axis=1).ravel()
    after = np.clip(np.searchsorted(turns, hours, side="right"), 1, len(turns) - 1)
    share = np.clip((hours - turns[after - 1]) / (turns[after] - turns[after - 1]), 0.0, 1.0)
    blend = (1 - np.cos(np.pi * share)) / 2
    return np.asarray(values[after - 1] * (1 - blend) + values[after] * blend)
