"""Pressure in closed pipes from step to step, compiled."""

from typing import Any

import numpy as np
from numba import njit

from rillwright.physics.closed_pipe import ATMOSPHERE, air_swelling

__all__ = ["march"]

Array = Any

_NEWTON = 14
_CLOSE = 1e-3  # [Pa] of a step of Newton's at which the pressure is found

_swelling: Any = njit(air_swelling)  # physics, compiled


@njit(cache=True)
def march(
    times: Array, start: Array, give: Array, air: Array, rate: Array, power: Array, moved: Array, warming: Array
) -> Array:
    """Step through time, the leak of each step at its end's pressure; volumes as shares of the pipes' own.

    Parameters: times [s] (m,); for each of n pipes, shaped (n,): start [Pa] gauge, give [1/Pa], air [-], rate [1/s] at
    the start pressure, its power of pressure; moved [-] and warming [-], absolute temperature over the first, (n, m).
    Returns: pressure [Pa] gauge (n, m), by Newton.
    """
    pressure = np.empty((len(start), len(times)))
    for i in range(len(start)):
        first = now = start[i]
        leaked = 0.0
        pressure[i, 0] = now
        for k in range(1, len(times)):
            length = times[k] - times[k - 1]
            for _ in range(_NEWTON):
                flow = rate[i] * (now / first) ** power[i]
                swollen = air[i] * _swelling(now, first, warming[i, k])
                miss = give[i] * (now - first) + moved[i, k] + leaked + length * flow - swollen
                slope = give[i] + length * flow * power[i] / now + (swollen + air[i]) / (now + ATMOSPHERE)
                step = miss / slope
                now = max(now - step, 0.05 * now)
                if abs(step) < _CLOSE:
                    break
            leaked += length * rate[i] * (now / first) ** power[i]
            pressure[i, k] = now
            now = max(now, 1.0)
    return pressure
