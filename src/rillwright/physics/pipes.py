"""Full pipes: area, velocity, pressure surge, pressure rating. Formulas take floats or arrays alike."""

import math
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.physics.units import FOOT, PSI

__all__ = [
    "PVC_MODULUS",
    "area",
    "closing_surge",
    "critical_closing_time",
    "flow_at_velocity",
    "rating_by_inside_ratio",
    "rating_by_outside_ratio",
    "surge",
    "velocity",
    "wave_speed",
]

Value = TypeVar("Value", float, NDArray[np.float64])

PVC_MODULUS = 400_000 * PSI  # [Pa] short-term, AWWA M23 (from memory)
_WATER_MODULUS = 300_000 * PSI  # [Pa] bulk modulus of water as AWWA M23 rounds it (from memory)
_FREE_WAVE_SPEED = 4660 * FOOT  # [m/s] in a rigid pipe, by that rounding


def area(inside_diameter: Value) -> Value:
    """Give the flow area [m²] of a pipe of an inside diameter [m]."""
    return math.pi / 4 * inside_diameter**2


def velocity(flow: Value, *, inside_diameter: float) -> Value:
    """Give the mean velocity [m/s] of a flow [m³/s] in a pipe of an inside diameter [m].

    Source: continuity. NFPA 13 prints it as 0.4085 Q/d² for ft/s, gpm and in.
    """
    return flow / area(inside_diameter)


def flow_at_velocity(speed: Value, *, inside_diameter: float) -> Value:
    """Give the flow [m³/s] at a mean velocity [m/s] in a pipe of an inside diameter [m]."""
    return speed * area(inside_diameter)


def wave_speed(dimension_ratio: float, *, elastic_modulus: float = PVC_MODULUS) -> float:
    """Speed of a pressure wave in a water-filled plastic pipe.

    Parameters: dimension_ratio [-], outside diameter over wall; elastic_modulus [Pa] of the wall, short-term.
    Returns: speed [m/s]: 4660 ft/s / sqrt(1 + (K/E)(DR - 2)), K the bulk modulus of water.
    Errors: InputError when the ratio is 2 or less (no bore left) or the modulus is not positive.
    Source: Korteweg's formula as in AWWA M23 and the Handbook of PVC Pipe (from memory).

    >>> round(wave_speed(21) / FOOT)
    1193
    """
    if dimension_ratio <= 2 or elastic_modulus <= 0:
        raise InputError(f"dimension ratio {dimension_ratio:g} must exceed 2, modulus {elastic_modulus:g} Pa exceed 0")
    return _FREE_WAVE_SPEED / math.sqrt(1 + _WATER_MODULUS / elastic_modulus * (dimension_ratio - 2))


def surge(velocity_change: Value, *, wave_speed: float, density: float = 1000.0) -> Value:
    """Pressure rise when a flow is stopped faster than the critical closing time.

    Parameters: velocity_change [m/s]; wave_speed [m/s]; density [kg/m³]. Returns: pressure rise [Pa].
    Source: Joukowsky's formula.

    >>> surge(1.0, wave_speed=1200.0)
    1200000.0
    """
    return density * wave_speed * velocity_change


def closing_surge(column: Value, *, closing_time: float, density: float = 1000.0) -> Value:
    """Pressure rise when a flow is stopped evenly, slower than the critical closing time.

    Parameters: column [m²/s], velocity times length, summed over pipes in series; closing_time [s]; density [kg/m³].
    Returns: pressure rise [Pa] at the valve: 2 · density · column / closing_time. In one pipe it equals Joukowsky's
    at the critical closing time and exceeds it for faster closings, so the lesser of the two holds.
    Source: Michaud's formula, Allievi's law for a slow even closing (any text on water hammer).

    >>> closing_surge(150.0, closing_time=1.0)  # 100 m at 1.5 m/s
    300000.0
    """
    return 2 * density * column / closing_time


def critical_closing_time(length: Value, *, wave_speed: float) -> Value:
    """Give the time [s] in which a wave runs a pipe's length [m] there and back; a slower closing surges less.

    Source: any text on water hammer, 2 L / a.
    """
    return 2 * length / wave_speed


def rating_by_outside_ratio(design_stress: float, *, dimension_ratio: float) -> float:
    """Pressure rating of a pipe from outside diameter over wall (SDR, or schedule pipe's own ratio).

    Parameters: design_stress [Pa] of the compound; dimension_ratio [-]. Returns: rating [Pa] at 23 °C.
    Source: ASTM D2241 and D1785, P = 2 S / (DR - 1) (from memory).

    >>> round(rating_by_outside_ratio(2000 * PSI, dimension_ratio=21) / PSI)
    200
    """
    return 2 * design_stress / (dimension_ratio - 1)


def rating_by_inside_ratio(design_stress: float, *, dimension_ratio: float) -> float:
    """Pressure rating of a pipe from inside diameter over wall (SIDR).

    Parameters: design_stress [Pa] of the compound; dimension_ratio [-]. Returns: rating [Pa] at 23 °C.
    Source: ASTM D2239, P = 2 S / (SIDR + 1) (from memory).

    >>> round(rating_by_inside_ratio(800 * PSI, dimension_ratio=15) / PSI)
    100
    """
    return 2 * design_stress / (dimension_ratio + 1)
