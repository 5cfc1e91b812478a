"""How long the day is."""

import numpy as np

from rillwright.physics.sunlight import DAY, sunset_angle

__all__ = ["daylight"]


def daylight(latitude: float, *, day_of_year: int) -> float:
    """Time from sunrise to sunset [s], for the sun's centre at a level horizon without refraction.

    Parameters: latitude [rad], north positive, from -pi/2 to pi/2; day_of_year, 1 to 366.
    Returns: daylight [s]; 0 in polar night, 86 400 in polar day. Seen daylight is some minutes longer.
    Source: FAO Irrigation and Drainage Paper 56 (1998), chapter 3, equations 24 (declination), 25 (sunset hour
    angle) and 34 (daylight hours), from memory.

    >>> round(daylight(np.radians(-20), day_of_year=246) / 3600, 1)
    11.7
    """
    return float(DAY / np.pi * sunset_angle(latitude, day_of_year=day_of_year))
