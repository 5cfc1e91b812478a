"""The flight of drops from a nozzle to the ground: drag, wind and slope.

Statement. A drop of diameter d leaves the nozzle at the speed that the pressure gives it and moves by

    dv/dt = -g - 3/4 · (density of air / density of water) · C(Re) / d · |v - w| · (v - w),   Re = |v - w| d / viscosity

with the drag of a hard sphere, C = 24/Re · (1 + 0.15 Re^0.687) up to Re 1000 and 0.44 above (Schiller and Naumann,
1933), and the wind w level, rising with height as over short grass (FAO Irrigation and Drainage Paper 56, equation 47):
w(z) = w(2 m) · ln(67.8 z - 5.42) / 4.87, none under 0.095 m. Solved by the classical Runge-Kutta rule of fourth order.

A sprinkler throws drops of all sizes; the larger land farther out. So how far a drop lands in still air says how large
it is, and how large it is says how far wind and slope shift it: Fukui, Nakanishi and Okamura (1980), from memory.
"""

import math

import numpy as np
from numpy.typing import NDArray

from rillwright.physics.drop_kernels import land_each, path_heights

__all__ = ["DIAMETERS", "drop_paths", "drop_sizes", "fall_speed", "landing_places", "launch_speed", "reaches"]

Floats = NDArray[np.float64]

DIAMETERS = np.geomspace(2e-4, 1.2e-2, 48)  # [m] smaller ones are mist, larger ones stand for a jet not yet broken up
_LEVEL = np.zeros(2)


def launch_speed(pressure: float) -> float:
    """Speed [m/s] of water that leaves a nozzle at a pressure [Pa] without loss, sqrt(2 P / density): Bernoulli.

    >>> round(launch_speed(2e5), 2)
    20.02
    """
    return math.sqrt(2 * max(pressure, 0.0) / 998.2)


def fall_speed(diameter: float) -> float:
    """Speed [m/s] at which a drop of a diameter [m] falls in still air for good: weight and drag in balance.

    Within 7 % of Gunn and Kinzer (1949) from 1 to 3 mm, 13 % fast at 4 mm, where real drops flatten.

    >>> round(fall_speed(1e-3), 2)
    3.85
    """
    low, high = 0.0, 30.0
    for _ in range(60):
        speed = 0.5 * (low + high)
        reynolds = max(speed * diameter / 1.516e-5, 1e-9)
        factor = 0.44 if reynolds > 1000 else 24 / reynolds * (1 + 0.15 * reynolds**0.687)
        slowing = 0.75 * 1.204 / 998.2 / diameter * factor * speed * speed
        low, high = (speed, high) if slowing < 9.80665 else (low, speed)
    return 0.5 * (low + high)


def landing_places(
    diameters: Floats, launches: Floats, *, height: float, wind: Floats = _LEVEL, slope: Floats = _LEVEL
) -> Floats:
    """Where drops land, in plan from the nozzle.

    Parameters: diameters (k,) [m]; launches (m, 3) [m/s], velocities at the nozzle; height [m] of the nozzle over the
    ground; wind (2,) [m/s] at 2 m over the ground, as it blows; slope (2,) [m/m], rise of the ground along x and y.
    Returns: x, y [m], shape (k, m, 2).
    """
    out = np.full((len(diameters), len(launches), 2), np.nan)
    air = (float(wind[0]), float(wind[1]), float(slope[0]), float(slope[1]))
    land_each(diameters, launches, height, air, out)
    return out


def reaches(*, speed: float, launch: float, height: float) -> Floats:
    """How far [m] drops of each of DIAMETERS fly over level ground in still air; rises with the diameter.

    Parameters: speed [m/s]; launch [°] over level; height [m] of the nozzle.
    """
    angle = math.radians(launch)
    toward = np.array([[speed * math.cos(angle), 0.0, speed * math.sin(angle)]])
    return landing_places(DIAMETERS, toward, height=height)[:, 0, 0]


def drop_sizes(distances: Floats, *, speed: float, launch: float, height: float) -> Floats:
    """Diameters [m] of the drops that land at distances [m] on level ground in still air; held at DIAMETERS' ends."""
    reach = reaches(speed=speed, launch=launch, height=height)
    return np.asarray(np.exp(np.interp(distances, reach, np.log(DIAMETERS))))


def drop_paths(diameters: Floats, distances: Floats, *, speed: float, launch: float, height: float) -> Floats:
    """Heights [m] of drops over level ground at distances [m] from the nozzle, in still air; negative past landing.

    Paths go on under the ground, to -5 m at least, and count as -5 m from there on.

    Parameters: diameters (k,) [m]; distances (n,) [m], rising; speed, launch, height as for reaches. Shape (k, n).
    """
    angle = math.radians(launch)
    out = np.full((len(diameters), len(distances)), -5.0)
    path_heights(diameters, speed * math.cos(angle), speed * math.sin(angle), height, distances, out)
    return out
