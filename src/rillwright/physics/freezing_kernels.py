"""A body of water through changing air, compiled."""

import math
from typing import Any

import numpy as np
from numba import njit

from rillwright.physics.frost import LATENT_HEAT, MELTING

__all__ = ["ice_through", "step_body"]

Array = Any


@njit(cache=True)
def step_body(heat: float, air: float, seconds: float, conductance: float, capacity: float, water: float) -> float:
    """Take a body of water one step on in air that stands still meanwhile.

    Parameters: heat [J] over all of its water at the melting point and none frozen; while some is frozen it is
    negative, and -heat / (water · latent heat) is the share of ice; air [K]; seconds; conductance [W/K]; capacity
    [J/K] of body and water, frozen or not; water [kg]. Returns: heat after the step, exact: an exponential over the
    melting point, a line while the water freezes, an exponential below. Water freezes at once: no supercooling.
    """
    fusion, outside, rate = water * LATENT_HEAT, air - MELTING, conductance / capacity
    left = seconds
    while left > 0:
        freezing = -fusion <= heat <= 0 and not (heat == 0 and outside > 0) and not (heat == -fusion and outside < 0)
        if freezing:
            if outside == 0:
                return heat
            goal = 0.0 if outside > 0 else -fusion
            takes = (goal - heat) / (conductance * outside)
            if takes >= left:
                return heat + conductance * outside * left
            heat, left = goal, left - takes
            continue
        base = 0.0 if heat > 0 or (heat == 0 and outside > 0) else -fusion
        over = (heat - base) / capacity
        if over * outside < 0:
            takes = math.log1p(-over / outside) / rate
            if takes < left:
                heat, left = base, left - takes
                continue
        return base + capacity * (outside + (over - outside) * math.exp(-rate * left))
    return heat


@njit(cache=True)
def ice_through(air: Array, start: float, seconds: float, conductance: float, capacity: float, water: float) -> Array:
    """Share of ice (n,) after each step of a row of air temperatures (n,) [K]; start [K] of the body, as step_body."""
    found = np.zeros(len(air))
    heat = (start - MELTING) * capacity
    for n in range(len(air)):
        heat = step_body(heat, air[n], seconds, conductance, capacity, water)
        found[n] = min(max(-heat / (water * LATENT_HEAT), 0.0), 1.0)
    return found
