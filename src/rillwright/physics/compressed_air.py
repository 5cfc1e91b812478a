"""Compressed air: through nozzles, along hoses and pipes, out of a tank. Pressures are absolute where so named."""

import math
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rillwright.errors import InputError
from rillwright.physics.closed_pipe import ATMOSPHERE

__all__ = [
    "AIR_CONSTANT",
    "CHOKED_RATIO",
    "FREE_AIR",
    "SPECIFIC_HEAT",
    "air_density",
    "lead_through",
    "nozzle_air",
    "nozzle_area",
    "pipe_air",
]

Value = TypeVar("Value", float, NDArray[np.float64])

AIR_CONSTANT = 287.05  # [J/kg K]
SPECIFIC_HEAT = 1005.0  # [J/kg K] at constant pressure
_RATIO = 1.4  # of specific heats
FREE_AIR = 1.2  # [kg/m³] of the air that compressors are rated by, 20 °C and 1 atm, within 1 %
CHOKED_RATIO = (2 / (_RATIO + 1)) ** (_RATIO / (_RATIO - 1))  # 0.528
_CHOKED = math.sqrt(_RATIO) * (2 / (_RATIO + 1)) ** ((_RATIO + 1) / (2 * (_RATIO - 1)))  # 0.6847
_ISOTHERMAL = 1 / math.sqrt(math.e)  # greatest flow of an isothermal nozzle, which no pipe passes


def air_density(absolute: Value, *, temperature: float) -> Value:
    """Give the density [kg/m³] of air at an absolute pressure [Pa] and a temperature [K]: ideal gas."""
    return absolute / (AIR_CONSTANT * temperature)


def nozzle_area(flow: float, *, pressure: float, density: float) -> float:
    """Area, contraction included, of a hole that passes a flow [m³/s] of water of a density [kg/m³] at a pressure [Pa].

    Returns: [m²] flow / sqrt(2 pressure / density). Source: Bernoulli.
    """
    if flow <= 0 or pressure <= 0:
        raise InputError(f"a hole's area needs a flow and a pressure over 0, not {flow:g} m³/s and {pressure:g} Pa")
    return flow / math.sqrt(2 * pressure / density)


def nozzle_air(
    absolute: ArrayLike, *, area: ArrayLike, temperature: float, behind: float = ATMOSPHERE
) -> NDArray[np.float64]:
    """Air through a nozzle.

    Parameters: absolute [Pa] before it; area [m²], contraction included; temperature [K] before it; behind [Pa]
    absolute. Shapes broadcast. Returns: mass flow [kg/s], 0 where nothing drives it; it no longer depends on what
    lies behind once that is under 0.528 of what lies before. Source: isentropic flow, any text on gas dynamics.

    >>> round(float(nozzle_air(790.8e3, area=7.917e-6, temperature=294.3)), 5)  # 1/8 in at 100 psi
    0.01475
    """
    before = np.maximum(np.asarray(absolute, float), behind)
    ratio = np.maximum(behind / before, CHOKED_RATIO)
    holes = np.asarray(area, float)
    choked = _CHOKED * before * holes / math.sqrt(AIR_CONSTANT * temperature)
    inner = 2 * _RATIO / (_RATIO - 1) * (ratio ** (2 / _RATIO) - ratio ** ((_RATIO + 1) / _RATIO))
    under = before * holes * np.sqrt(np.maximum(inner, 0.0) / (AIR_CONSTANT * temperature))
    return np.asarray(np.where(ratio <= CHOKED_RATIO, choked, under))


def lead_through(*, length: float, bore: float, fittings: float = 0.0, friction: float = 0.02) -> float:
    """Resistance of a hose or pipe to air.

    Parameters: length [m]; bore [m]; fittings K [-]; friction f [-], which in smooth bores at the flows of blowing out
    lies between 0.016 and 0.024. Returns: [1/m⁴] (f L/D + K) / A²; of pieces in a row it adds up.
    """
    return (friction * length / bore + fittings) / (math.pi / 4 * bore**2) ** 2


def pipe_air(absolute: float, behind: float, *, resistance: float, temperature: float, area: float) -> float:
    """Air along pipes in a row, at one temperature.

    Parameters: absolute, behind [Pa]; resistance [1/m⁴], see lead_through; temperature [K]; area [m²], the narrowest.
    Returns: mass flow [kg/s] sqrt((p1² - p2²) / (R T resistance)), at most what an isothermal nozzle of that area
    passes, p1 A / sqrt(e R T); 0 backwards. The change of speed along the pipe is left out, so that it is a little
    high at great speeds. Source: isothermal flow, any text on gas pipelines.

    >>> round(pipe_air(801e3, 446e3, resistance=lead_through(length=15, bore=0.0127), temperature=288, area=1.27e-4), 4)
    0.0603
    """
    if behind >= absolute:
        return 0.0
    thermal = AIR_CONSTANT * temperature
    along = math.sqrt((absolute**2 - behind**2) / (thermal * max(resistance, 1e-9)))
    return min(along, _ISOTHERMAL * absolute * area / math.sqrt(thermal))
