"""Daily balance of soil water in layers, at many points at once.

    stored(t) = stored(t-1) + rain - runoff + water + rise - use - deep                                        [m]

Of a day: what comes in fills the cells from the ground down, each to field capacity; turf first uses what the lowest
cannot hold, and what is then left of that is lost deep. Of the rest of its need, Kc · ET0, it gets the share Ks out of
the cells that its roots reach, evenly by what each still has. Ks is that of FAO-56 equation 84 on the rooted water,
with the share p of the day's use. Only rain runs off: watering is cut into cycles so that none of it does. Rise from
ground water fills the lowest rooted cells.
Source: FAO-56 chapter 8, equations 82 to 88; the layers are ours.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.physics.soil import depletion_share, stress
from rillwright.solvers.soil_water.profile import Profile

__all__ = ["Balance", "water_balance"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Balance:
    """The balance of every day at every point; arrays (days, points), rain and runoff (days,) [m]."""

    stored: Floats  # at the end of the day over the wilting point, in the whole profile
    depletion: Floats  # of the rooted soil at the end of the day
    limit: Floats  # (days,) that depletion may reach without stress
    use: Floats
    stress: Floats  # Ks [-]
    deep: Floats
    water: Floats
    rain: Floats
    runoff: Floats
    rise: Floats
    first: Floats  # (points,) stored before the first day

    @property
    def error(self) -> float:
        """Most that a day fails to close [m]."""
        before = np.vstack((self.first, self.stored[:-1]))
        into = (self.rain - self.runoff)[:, None] + self.water + self.rise
        return float(np.abs(self.stored - before - into + self.use + self.deep).max(initial=0.0))


def water_balance(
    profile: Profile,
    *,
    demand: Floats,
    rain: Floats,
    water: Floats,
    roots: Floats,
    depletion: float,
    runoff: Floats | float = 0.0,
    rise: float = 0.0,
    start: float = 1.0,
) -> Balance:
    """Keep the balance of some days.

    Parameters: profile; demand (days,) or (days, points) [m], Kc · ET0; rain (days,) [m]; water (days, points) [m] that
    reaches the ground; roots (days,) [m]; depletion, share of the available water that turf takes without stress at 5
    mm a day; runoff (days,) [m] of the rain; rise [m] a day from below; start, share of the profile's room that is
    full.
    """
    days, points = water.shape
    wanted = np.broadcast_to(demand.reshape(days, -1), (days, points))
    ran = np.broadcast_to(np.asarray(runoff, dtype=float), (days,))
    share = depletion_share(depletion, use=wanted.max(axis=1))
    rooted = profile.rooted(roots)
    cells = np.tile(start * profile.room, (points, 1))
    first = cells.sum(axis=1)
    out = {name: np.empty((days, points)) for name in ("stored", "depletion", "use", "stress", "deep", "rise")}
    for day in range(days):
        free = _fill(cells, rain[day] - ran[day] + water[day], profile.room)
        reach = cells * rooted[day]
        full = float((profile.room * rooted[day]).sum())
        there = reach.sum(axis=1)
        ks = stress(full - there, available=full, share=share[day])
        at_once = np.minimum(free, wanted[day])
        drawn = np.minimum(ks * (wanted[day] - at_once), there)
        cells -= reach * (drawn / np.maximum(there, 1e-12))[:, None]
        out["rise"][day] = _rise(cells, rise, profile.room * (rooted[day] > 0))
        out["use"][day], out["stress"][day], out["deep"][day] = at_once + drawn, ks, free - at_once
        out["stored"][day] = cells.sum(axis=1)
        out["depletion"][day] = full - (cells * rooted[day]).sum(axis=1)
    limit = share * (rooted * profile.room).sum(axis=1)
    return Balance(water=water, rain=rain, runoff=ran, limit=limit, first=first, **out)


def _fill(cells: Floats, water: Floats, room: Floats) -> Floats:
    """Fill cells (points, k) from the first on; what none holds [m]."""
    lack = np.maximum(room - cells, 0.0)
    above = np.cumsum(lack, axis=1) - lack
    cells += np.clip(water[:, None] - above, 0.0, lack)
    return np.asarray(np.maximum(water - lack.sum(axis=1), 0.0), dtype=float)


def _rise(cells: Floats, rise: float, room: Floats) -> Floats:
    """Water from below into the rooted cells, the lowest first; what came [m]."""
    lack = np.maximum(room - cells, 0.0)[:, ::-1]
    above = np.cumsum(lack, axis=1) - lack
    came = np.clip(rise - above, 0.0, lack)
    cells += came[:, ::-1]
    return np.asarray(came.sum(axis=1), dtype=float)
