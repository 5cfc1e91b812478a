"""Air in full pipes: the flow that carries it along."""

import math

from rillwright.errors import InputError
from rillwright.physics.units import GRAVITY

__all__ = ["clearing_velocity"]

_LARGE_POCKET = 0.61  # for pockets of 0.3 to 2 volumes of pi/4 · D³


def clearing_velocity(inside_diameter: float, *, slope: float) -> float:
    """Velocity at which water carries an air pocket down a falling pipe.

    Parameters: inside_diameter [m]; slope [m/m], fall over length along the pipe, 0 to 1.
    Returns: velocity [m/s] = sqrt(g D) · (0.56 sqrt(slope) + 0.61), for large pockets, which are the slowest to move.
    Measured for slopes up to 0.38 (22.5°) in a bore of 0.15 m; used beyond both. Errors: InputError for other values.
    Source: Escarameia, Proc. ICE Water Management 160 (2007) and HR Wallingford report SR 661 (from memory).

    >>> round(clearing_velocity(0.0266, slope=0.1), 2)
    0.4
    """
    if inside_diameter <= 0 or not 0 <= slope <= 1:
        raise InputError(f"bore {inside_diameter:g} m must be positive and slope {slope:g} lie in 0 to 1")
    return math.sqrt(GRAVITY * inside_diameter) * (0.56 * math.sqrt(slope) + _LARGE_POCKET)
