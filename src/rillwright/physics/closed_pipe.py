"""A pipe full of water, closed at both ends: what moves its pressure besides a leak.

Water swells when it warms and gives a little under pressure; so does the pipe, and a plastic one stretches on for
hours; air trapped in it is a spring. Buried pipe is held lengthwise by the ground. Formulas take floats or arrays.
"""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError

__all__ = ["ATMOSPHERE", "air_swelling", "creep_share", "wall_stretch", "wall_swelling"]

Value = TypeVar("Value", float, NDArray[np.float64])

ATMOSPHERE = 101_325.0  # [Pa] standard; 1 % less for each 85 m of height over the sea, which matters little here


def wall_stretch(*, inside_diameter: float, wall: float, modulus: float, poisson: float) -> float:
    """Share by which the bore of a pipe that is held lengthwise grows with each pascal inside.

    Parameters: inside_diameter D [m]; wall e [m]; modulus E [Pa]; poisson's ratio m [-].
    Returns: [1/Pa] D/(e E) · (2 e/D (1 + m) + D/(D + e) (1 - m²)), thin and thick walls alike.
    Errors: InputError for sizes or moduli that are not positive.
    Source: Wylie and Streeter, Fluid Transients, anchored pipe with thick walls (from memory).

    >>> f"{wall_stretch(inside_diameter=0.0266, wall=0.0018, modulus=1.03e9, poisson=0.45):.2e}"  # 1 in PE
    '1.35e-08'
    """
    if min(inside_diameter, wall, modulus) <= 0:
        raise InputError(f"bore {inside_diameter:g} m, wall {wall:g} m and modulus {modulus:g} Pa must all exceed 0")
    thick = 2 * wall / inside_diameter * (1 + poisson)
    return inside_diameter / (wall * modulus) * (thick + inside_diameter / (inside_diameter + wall) * (1 - poisson**2))


def wall_swelling(*, expansion: float, poisson: float) -> float:
    """Share by which the bore of a pipe that is held lengthwise grows with each kelvin.

    The ground keeps the length, so the wall is pressed along the pipe and gives the more around it: 2 a (1 + m).
    Parameters: expansion a [1/K] of length; poisson's ratio m [-]. Returns: [1/K].
    Source: Hooke's law with thermal strain, any text on strength of materials.

    >>> f"{wall_swelling(expansion=160e-6, poisson=0.45):.2e}"  # PE: more than twice what water does at 15 °C
    '4.64e-04'
    """
    return 2 * expansion * (1 + poisson)


def creep_share(time: float | NDArray[np.float64], *, per_decade: float, held: float) -> NDArray[np.float64]:
    """Share of its first stretch by which a plastic wall has stretched on.

    Parameters: time [s] since the watch began; per_decade [-], for each tenfold of time under load; held [s], how long
    the pressure had stood before, above 0. Returns: [-] per_decade · log10(1 + time/held).
    Source: creep of plastics is straight over the logarithm of time; PPI handbook (from memory).

    >>> round(float(creep_share(9 * 60.0, per_decade=0.2, held=60.0)), 3)
    0.2
    """
    return np.asarray(per_decade * np.log10(1 + time / held))


def air_swelling(pressure: Value, start: Value, warming: Value) -> Value:  # numba takes no arguments by name alone
    """Share by which trapped air has swollen.

    Parameters: pressure [Pa] gauge; start [Pa] gauge at the beginning; warming [-], absolute temperature over that at
    the beginning. Returns: [-]. Source: ideal gas; what dissolves in the water meanwhile is left out.

    >>> round(air_swelling(0.0, start=101325.0, warming=1.0), 6)
    1.0
    """
    return (start + ATMOSPHERE) / (pressure + ATMOSPHERE) * warming - 1
