"""Minutes led by the weather: each night gives back what turf has used since the last, less the rain that stayed.

What a controller does that is told reference evapotranspiration and rain each day. It knows the mean of a zone's ground
and not its dry spots, so it too is raised until it keeps the same ground; and it sets no month, but every night.
"""

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.watering.ground import WateredGround
from rillwright.solvers.season import Season
from rillwright.solvers.season.trial import NO_NIGHT

__all__ = ["weather_led"]

Floats = NDArray[np.float64]


def weather_led(season: Season, ground: WateredGround) -> tuple[Season, Floats]:
    """The seasons with each night of each year by itself, and its seconds (nights, zones) by the multiplier."""
    zones = ground.zones
    need = np.array([zone.need for zone in zones])
    back = np.array([zone.multiplier / max(zone.net_rate, 1e-9) for zone in zones])
    slot = np.full_like(season.slot, NO_NIGHT)
    held = season.slot != NO_NIGHT
    slot[held] = np.arange(held.sum())
    seconds = np.zeros((int(held.sum()), len(zones)))
    used = np.full((len(slot), len(zones)), season.start)
    for day in range(season.slot.shape[1]):
        now = held[:, day]
        seconds[slot[now, day]] = used[now] * back
        used[now] = 0.0
        used = np.maximum(used + season.need[:, day, None] * need - season.rain[:, day, None], 0.0)
    return Season(season.need, season.rain, season.limit, slot, season.start), seconds
