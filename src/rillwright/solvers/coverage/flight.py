"""Tables of how drops fly from a nozzle: how high on their way, and how far wind and slope shift them.

The drop that lands at a share of the radius in still air over level ground is found from its reach; the same drop is
then thrown again in the wind over the slope. physics/drops.py states the flight, docs/theory/coverage.md the sources.
"""

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rillwright.physics.drops import DIAMETERS, drop_paths, drop_sizes, landing_places, launch_speed

__all__ = ["NO_DRIFT", "NO_PATHS", "drift_table", "path_table"]

Floats = NDArray[np.float64]

NO_DRIFT, NO_PATHS = np.zeros((1, 1, 2)), np.zeros((2, 2))

_SHARES, _WAYS = 16, 36  # of the drift table
_DROPS = DIAMETERS[::2]  # that are flown, whatever the radius
_STATIONS = 48  # of the path table, both ways
_LEAST_PRESSURE = 30e3  # [Pa] under it a head dribbles, whatever the table says
_PRESSURE_STEP, _RADIUS_STEP = 10e3, 0.1  # [Pa], [m] the tables are made for rounded values, so that heads share them


def drift_table(
    *,
    pressure: float,
    launch: float,
    height: float,
    radius: float,
    slope: tuple[float, float],
    wind: tuple[float, float],
    square: bool,
) -> Floats:
    """How far [m] wind and slope shift the landing of a drop.

    Parameters: pressure [Pa] at the nozzle; launch [°] over level, or over the ground when the head stands square to
    it; height [m] of the nozzle; radius [m] in still air over level ground; slope [m/m] and wind [m/s] along x and y.
    Returns: shift in x and y, by landing share of the radius (0 to 1, even) and direction (even from the x axis),
    shape (17, 36, 2); NO_DRIFT in still air over level ground.
    """
    if slope == (0.0, 0.0) and wind == (0.0, 0.0):
        return NO_DRIFT
    return _at_radius(*_rounded(pressure, radius), launch, height, slope, wind, square)


def path_table(*, pressure: float, launch: float, height: float, radius: float) -> Floats:
    """Height [m] over level ground of the drop that lands at a share of the radius, by share and by distance.

    Both run evenly from 0 to 1 of the radius; negative past the landing. Parameters as for drift_table. Shape (49, 49).
    """
    return _paths(*_rounded(pressure, radius), launch, height)


def _rounded(pressure: float, radius: float) -> tuple[float, float]:
    stated = max(pressure, _LEAST_PRESSURE)
    return round(stated / _PRESSURE_STEP) * _PRESSURE_STEP, max(1, round(radius / _RADIUS_STEP)) * _RADIUS_STEP


@lru_cache(maxsize=2048)
def _at_radius(
    pressure: float,
    radius: float,
    launch: float,
    height: float,
    slope: tuple[float, float],
    wind: tuple[float, float],
    square: bool,
) -> Floats:
    """Shifts at even shares of a radius, read between the drops that were flown."""
    reach, shift = _flown(pressure, launch, height, slope, wind, square)
    place = np.interp(np.linspace(0.0, radius, _SHARES + 1), reach, np.arange(len(reach)))
    low = np.minimum(place.astype(np.int64), len(reach) - 2)
    share = (place - low)[:, None, None]
    return np.asarray(shift[low] * (1 - share) + shift[low + 1] * share)


@lru_cache(maxsize=1024)
def _flown(
    pressure: float,
    launch: float,
    height: float,
    slope: tuple[float, float],
    wind: tuple[float, float],
    square: bool,
) -> tuple[Floats, Floats]:
    """Reach (drops,) [m] in still air over level ground and shift (drops, ways, 2) [m] of drops of every size."""
    speed = launch_speed(pressure)
    way = np.arange(_WAYS) * math.tau / _WAYS
    flat = np.stack((np.cos(way), np.sin(way)), axis=1)
    angle = math.radians(launch)
    toward = np.hstack((math.cos(angle) * flat, np.full((_WAYS, 1), math.sin(angle))))
    ahead = np.array([[math.cos(angle), 0.0, math.sin(angle)]])
    reach = landing_places(_DROPS, speed * ahead, height=height)[:, 0, 0]
    if square:
        toward = toward @ _tilt(slope).T
    moved = landing_places(_DROPS, speed * toward, height=height, wind=np.array(wind), slope=np.array(slope))
    return reach, moved - reach[:, None, None] * flat


def _tilt(slope: tuple[float, float]) -> Floats:
    """Least turn that takes the plumb line to the line square to the ground; shape (3, 3). Source: Rodrigues."""
    normal = np.array((-slope[0], -slope[1], 1.0))
    a, b, c = normal / np.linalg.norm(normal)
    cross = np.array(((0.0, 0.0, a), (0.0, 0.0, b), (-a, -b, 0.0)))
    return np.asarray(np.eye(3) + cross + cross @ cross / (1 + c))


@lru_cache(maxsize=512)
def _paths(pressure: float, radius: float, launch: float, height: float) -> Floats:
    speed, stations = launch_speed(pressure), np.linspace(0.0, radius, _STATIONS + 1)
    drops = drop_sizes(stations, speed=speed, launch=launch, height=height)
    return drop_paths(drops, stations, speed=speed, launch=launch, height=height)
