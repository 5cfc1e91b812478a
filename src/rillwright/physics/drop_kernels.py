"""Compiled loops of the flight of drops; `drops` says what they solve."""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["land_each", "path_heights"]

Floats = NDArray[np.float64]
State = tuple[float, float, float, float, float, float]  # place [m] and speed [m/s]
Air = tuple[float, float, float, float]  # wind [m/s] and rise of the ground [m/m], along x and y each

_GRAVITY = 9.80665  # [m/s²]
_AIR_TO_WATER = 1.204 / 998.2  # densities of air and water at 20 °C
_AIR_VISCOSITY = 1.516e-5  # [m²/s] kinematic, at 20 °C
_MOST_STEPS = 30_000  # far more than any drop needs
_STEP = 0.03  # [s] at most
_DEEPEST = -5.0  # [m] to which a path is followed past its landing
_SLOWING = 0.3  # of the time in which drag would halt the drop: a step is no longer


@njit(cache=True)
def _slowing(speed: float, diameter: float) -> float:
    """Drag per mass and speed [1/s], after Schiller and Naumann."""
    reynolds = speed * diameter / _AIR_VISCOSITY
    if reynolds < 1e-9:
        return 18.0 * _AIR_TO_WATER * _AIR_VISCOSITY / (diameter * diameter)
    factor = 0.44 if reynolds > 1000.0 else 24.0 / reynolds * (1.0 + 0.15 * reynolds**0.687)
    return 0.75 * _AIR_TO_WATER / diameter * factor * speed


@njit(cache=True)
def _wind_share(height: float) -> float:
    """Wind at a height over the ground, as a share of the wind at 2 m."""
    inner = 67.8 * height - 5.42
    return math.log(inner) / 4.87 if inner > 1.0 else 0.0


@njit(cache=True)
def _pull(drop: State, diameter: float, air: Air) -> tuple[float, float, float, float]:
    """Acceleration [m/s²] of a drop, and its slowing [1/s]."""
    share = _wind_share(drop[2] - air[2] * drop[0] - air[3] * drop[1])
    x, y, z = drop[3] - share * air[0], drop[4] - share * air[1], drop[5]
    drag = _slowing(math.sqrt(x * x + y * y + z * z), diameter)
    return -drag * x, -drag * y, -drag * z - _GRAVITY, drag


@njit(cache=True)
def _moved(drop: State, speed: State, pull: tuple[float, float, float, float], step: float) -> State:
    """Place and speed after a step at another state's speed and a pull."""
    return (
        drop[0] + step * speed[3],
        drop[1] + step * speed[4],
        drop[2] + step * speed[5],
        drop[3] + step * pull[0],
        drop[4] + step * pull[1],
        drop[5] + step * pull[2],
    )


@njit(cache=True)
def _advance(drop: State, diameter: float, air: Air) -> State:
    """One step of the classical Runge-Kutta rule of fourth order."""
    first = _pull(drop, diameter, air)
    step = min(_STEP, _SLOWING / first[3])
    b = _moved(drop, drop, first, 0.5 * step)
    second = _pull(b, diameter, air)
    c = _moved(drop, b, second, 0.5 * step)
    third = _pull(c, diameter, air)
    d = _moved(drop, c, third, step)
    fourth = _pull(d, diameter, air)
    part = step / 6.0
    return (
        drop[0] + part * (drop[3] + 2.0 * b[3] + 2.0 * c[3] + d[3]),
        drop[1] + part * (drop[4] + 2.0 * b[4] + 2.0 * c[4] + d[4]),
        drop[2] + part * (drop[5] + 2.0 * b[5] + 2.0 * c[5] + d[5]),
        drop[3] + part * (first[0] + 2.0 * second[0] + 2.0 * third[0] + fourth[0]),
        drop[4] + part * (first[1] + 2.0 * second[1] + 2.0 * third[1] + fourth[1]),
        drop[5] + part * (first[2] + 2.0 * second[2] + 2.0 * third[2] + fourth[2]),
    )


@njit(cache=True)
def land_each(diameters: Floats, launches: Floats, height: float, air: Air, out: Floats) -> None:
    """Fill `out` (drops, launches, 2) [m] with where drops of each diameter land at each launch velocity (n, 3).

    `air` holds the wind [m/s] along x and y and the rise of the ground [m/m] along x and y.
    """
    for k in range(diameters.shape[0]):
        for m in range(launches.shape[0]):
            drop = (0.0, 0.0, height, launches[m, 0], launches[m, 1], launches[m, 2])
            for _ in range(_MOST_STEPS):
                after = _advance(drop, diameters[k], air)
                was = drop[2] - air[2] * drop[0] - air[3] * drop[1]
                above = after[2] - air[2] * after[0] - air[3] * after[1]
                if above <= 0.0:
                    share = was / (was - above)
                    out[k, m, 0] = drop[0] + share * (after[0] - drop[0])
                    out[k, m, 1] = drop[1] + share * (after[1] - drop[1])
                    break
                drop = after


@njit(cache=True)
def path_heights(diameters: Floats, ahead: float, up: float, height: float, distances: Floats, out: Floats) -> None:
    """Fill `out` (drops, distances) [m] with heights over level ground in still air, down to _DEEPEST under it."""
    for k in range(diameters.shape[0]):
        drop = (0.0, 0.0, height, ahead, 0.0, up)
        at = 0
        for _ in range(_MOST_STEPS):
            after = _advance(drop, diameters[k], (0.0, 0.0, 0.0, 0.0))
            while at < distances.shape[0] and distances[at] <= after[0]:
                share = (distances[at] - drop[0]) / max(after[0] - drop[0], 1e-12)
                out[k, at] = drop[2] + share * (after[2] - drop[2])
                at += 1
            if after[2] <= _DEEPEST or at == distances.shape[0]:
                break
            drop = after
