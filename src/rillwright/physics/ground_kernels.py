"""Heat through ground that freezes and thaws, compiled."""

from typing import Any

import numpy as np
from numba import njit

from rillwright.physics.frost import DAY

__all__ = ["ice_in_ground"]

Array = Any


@njit(cache=True)
def ice_in_ground(
    surface: Array, layers: Array, start: float, frozen: float, thawed: float, capacity: float, latent: float
) -> Array:
    """Share of ice (days, layers) in the ground's water at the end of each day.

    Parameters: surface (days,) [K over the melting point] of each day; layers (n,) [m] thick from the top; start [K
    over the melting point] of all of it, kept under the last layer; frozen, thawed [W/m K] conductivities; capacity
    [J/m³ K], frozen or not; latent [J/m³]. All water freezes at the melting point. Finite volumes on the enthalpy,
    explicit, in equal steps short enough to be stable; the day's own swing is left out. Errors: none.
    Source: heat conduction with the enthalpy as state, a standard method.
    """
    count, least = len(layers), layers.min()
    steps = int(np.ceil(DAY * 3.0 * max(frozen, thawed) / (capacity * least * least)))
    step = DAY / steps
    heat = np.full(count, capacity * start if start >= 0 else capacity * start - latent)  # [J/m³] over water at melting
    kelvin, resists, flow = np.zeros(count), np.zeros(count), np.zeros(count + 1)
    found = np.zeros((len(surface), count))
    for day in range(len(surface)):
        for _ in range(steps):
            for i in range(count):
                ice = min(max(-heat[i] / latent, 0.0), 1.0)
                kelvin[i] = (heat[i] + ice * latent) / capacity if ice <= 0.0 or ice >= 1.0 else 0.0
                resists[i] = layers[i] / 2 / (thawed + ice * (frozen - thawed))
            flow[0] = (surface[day] - kelvin[0]) / resists[0]
            for i in range(1, count):
                flow[i] = (kelvin[i - 1] - kelvin[i]) / (resists[i - 1] + resists[i])
            flow[count] = (kelvin[count - 1] - start) / resists[count - 1]
            for i in range(count):
                heat[i] += (flow[i] - flow[i + 1]) * step / layers[i]
        for i in range(count):
            found[day, i] = min(max(-heat[i] / latent, 0.0), 1.0)
    return found
