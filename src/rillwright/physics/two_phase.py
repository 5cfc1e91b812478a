"""Air that drives water out of a pipe: how fast its front runs, what it leaves behind, and when it sweeps that out."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rillwright.physics.units import GRAVITY

__all__ = ["BRIDGE", "LEVEL_SWEEP", "RISING_SWEEP", "film_speed", "front_speed", "left_behind", "sweep_speed"]

Floats = NDArray[np.float64]

_SHARE = 1.2  # by which the middle of a turbulent stream runs ahead of its mean
_DRIFT = 0.54  # of sqrt(g D): a bubble into a level pipe that empties
BRIDGE = 0.5  # of the bore: where water fills more, it bridges and is pushed on as a plug (Taitel and Dukler 1976)
LEVEL_SWEEP = 0.5  # [-] dimensionless air speed over which water in a level pipe is carried along
RISING_SWEEP = 1.0  # [-] and up a rise


def front_speed(water: ArrayLike, *, bore: ArrayLike) -> Floats:
    """Speed of the front of air behind water that it drives.

    Parameters: water [m/s], mean speed of the water ahead; bore [m]. Returns: [m/s] 1.2 v + 0.54 sqrt(g D), at the
    most v / (1 - BRIDGE). It outruns the water, which stays behind as a film. Source: Nicklin and others (1962) for
    1.2; Benjamin (1968) and Bendiksen (1984) for the drift in a level pipe; measured in bores of 19 to 178 mm. All from
    memory.

    >>> round(float(front_speed(1.0, bore=0.0266)), 2)
    1.48
    """
    speed = np.asarray(water, float)
    drift = _DRIFT * np.sqrt(GRAVITY * np.asarray(bore, float))
    return np.asarray(np.minimum(_SHARE * speed + drift, speed / (1 - BRIDGE)))


def left_behind(water: ArrayLike, *, bore: ArrayLike) -> Floats:
    """Share of the bore that is still water just behind the front: 1 - v / front speed, from 1/6 to BRIDGE.

    >>> round(float(left_behind(1.0, bore=0.0266)), 2)
    0.32
    """
    speed = np.asarray(water, float)
    return np.where(speed > 0, 1 - speed / np.maximum(front_speed(speed, bore=bore), 1e-12), BRIDGE)


def sweep_speed(*, bore: float, air: float, water: float, rises: bool) -> float:
    """Air speed from which water is carried out of a pipe.

    Parameters: bore [m]; air, water densities [kg/m³]; rises, whether the pipe leads up. Returns: [m/s]
    c sqrt(g D (water - air) / air), c = 0.5 level or falling, 1 up a rise. Source: Wallis, One-dimensional Two-phase
    Flow (1969), flooding and flow reversal at a dimensionless gas speed of 0.5 to 1 (from memory).

    >>> round(sweep_speed(bore=0.0266, air=3.7, water=999.0, rises=False), 1)
    4.2
    """
    return (RISING_SWEEP if rises else LEVEL_SWEEP) * math.sqrt(GRAVITY * bore * (water - air) / air)


def film_speed(air_speed: float, *, air: float, water: float) -> float:
    """Speed [m/s] of water that air carries along: that at which both carry alike momentum, v sqrt(air / water).

    Source: slip of equal momentum flux, Fauske (1962), from memory. Densities [kg/m³].

    >>> round(film_speed(10.0, air=3.7, water=999.0), 2)
    0.61
    """
    return air_speed * math.sqrt(air / water)
