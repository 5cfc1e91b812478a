"""The wind a yard states, as it blows over the plan."""

import math

from rillwright.model.site import Yard

__all__ = ["Wind", "design_winds", "known_wind"]

Wind = tuple[float, float]  # [m/s] along x and y, the way it blows

_CALM = (0.0, 0.0)
_ROUND = 8  # directions that stand for a wind whose direction nobody knows


def known_wind(yard: Yard) -> Wind:
    """Wind that heads are laid out for: the stated one when its direction is known, else still air."""
    stated = yard.wind
    return _CALM if stated.blows_from is None else _blowing(stated.speed, stated.blows_from, yard)


def design_winds(yard: Yard) -> dict[float, Wind]:
    """Winds that a layout is judged in, by the direction [°] clockwise from north that they blow from.

    The stated one, or eight all round when its direction is not known; none in still air.
    """
    stated = yard.wind
    if stated.speed == 0:
        return {}
    ways = [360.0 * k / _ROUND for k in range(_ROUND)] if stated.blows_from is None else [stated.blows_from]
    return {way: _blowing(stated.speed, way, yard) for way in ways}


def _blowing(speed: float, blows_from: float, yard: Yard) -> Wind:
    toward = math.radians(yard.north - blows_from + 180.0)
    return speed * math.cos(toward), speed * math.sin(toward)
