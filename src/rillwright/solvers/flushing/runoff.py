"""Where the water from an open end goes: down the steepest slope, step by step, until it must not or cannot go on.

Statement. From the end along minus the gradient of the ground, 0.5 m at a time, over at most REACH: on lawn and beds
it may run; the first building, paving or edge of the drawn ground it meets is named. Where the ground falls by less
than LEVEL it stands and soaks in. No seed.
"""

import numpy as np

from rillwright.model.flushing import Runoff
from rillwright.model.ground import Ground
from rillwright.model.plan import Point

__all__ = ["runoff_from"]

REACH = 20.0  # [m] that water from a flush runs over turf; judgement
LEVEL = 0.01  # [m/m] under which it stands; judgement
_STEP = 0.5  # [m]
_MAY_BE_WET = ("lawn", "bed")


def runoff_from(end: str, at: Point, *, ground: Ground) -> Runoff:
    """Follow the water from an end at a point [m]."""
    here = np.array(at, dtype=float)
    gone = 0.0
    while gone < REACH:
        rise = ground.terrain.gradient([here])[0]
        slope = float(np.linalg.norm(rise))
        if slope < LEVEL:
            break
        here = here - _STEP * rise / slope
        gone += _STEP
        surface = ground.surface_at(float(here[0]), float(here[1]))
        if surface not in _MAY_BE_WET:
            return Runoff(end=end, surface=surface or "off site", distance=gone)
    return Runoff(end=end, surface=None, distance=gone)
