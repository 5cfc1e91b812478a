"""What a programme does to the soil over seasons: depletion, stress and water, at every point.

The root zone as one store, as FAO-56 equation 85 has it: D(t) = max(D(t-1) + need - rain - water, 0). For roots of one
depth it is the same as the balance in layers, since water leaves the root zone only when every layer is full, but for
stress: turf is taken to use its full need, so that a programme is judged by what it lacks and not by what died.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.season.points import Points

__all__ = ["NO_NIGHT", "Season", "Trial", "tried"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.int64]

NO_NIGHT = -1  # in a season's slots: no water on that day


@dataclass(frozen=True, slots=True, eq=False)
class Season:
    """Days of some years, and which figure of the programme holds on each; arrays (years, days)."""

    need: Floats  # [m] of turf in full sun
    rain: Floats  # [m] that enters the ground
    limit: Floats  # [m] that depletion may reach at the day's end
    slot: Numbers  # row of the programme that runs before the day, or NO_NIGHT
    start: float = 0.0  # [m] of depletion before the first day

    @property
    def slots(self) -> int:
        """Rows of the programme."""
        return int(self.slot.max(initial=-1)) + 1


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """A programme over the seasons."""

    depletion: Floats  # (years, days, points) [m]
    since: Numbers  # (years, days, points) the last day at whose end the root zone was full; -1 for none
    water: Floats  # (years, days, zones) [s]

    def over(self, season: Season) -> Floats:
        """Depletion over its limit [m], negative where some is left; (years, days, points)."""
        return self.depletion - season.limit[:, :, None]


def tried(season: Season, points: Points, seconds: Floats) -> Trial:
    """Try a programme.

    Parameters: season; points; seconds (slots, zones) that each zone runs in a night of each slot.
    """
    years, days = season.need.shape
    padded = np.vstack((seconds, np.zeros(seconds.shape[1])))  # NO_NIGHT reads the last row
    water = padded[season.slot]
    given = padded @ points.rate.T
    depletion = np.empty((years, days, len(points)))
    since = np.empty((years, days, len(points)), dtype=np.int64)
    now = np.full((years, len(points)), season.start)
    last = np.full((years, len(points)), -1)
    for day in range(days):
        now = now + season.need[:, day, None] * points.need - season.rain[:, day, None] - given[season.slot[:, day]]
        full = now <= 0
        now = np.where(full, 0.0, now)
        last = np.where(full, day, last)
        depletion[:, day], since[:, day] = now, last
    return Trial(depletion, since, water)
