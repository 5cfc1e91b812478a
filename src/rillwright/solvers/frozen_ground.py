"""On which days of its winters the ground is frozen at a depth: heat conducted with ice that forms and thaws.

Statement. The surface feels the day's mean of the air, of frost the share n (thawed ground all of it); below lies one
soil with its conductivities frozen and thawed, the mean of its heat capacities, and all of its water's latent heat at
the melting point. The winters are run one after another, the first one twice so that the start is forgotten; deep down
stands the surface's mean. At a depth the ground is frozen while half of its water or more is ice. Thaw from above and
from below and frost that comes back come out of the one equation. Snow counts only in n. No seed. See
docs/theory/winter.md.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.model.winter_tables import FrostSoil
from rillwright.physics.frost import (
    MELTING,
    frozen_conductivity,
    soil_heat_capacity,
    soil_latent_heat,
    unfrozen_conductivity,
)
from rillwright.solvers.freeze_dates import Season

__all__ = ["frozen_days"]

_LAYERS = np.concatenate((np.full(30, 0.04), 0.04 * 1.25 ** np.arange(1, 19)))  # [m] 1.2 m finely, 12 m in all


def frozen_days(
    seasons: Sequence[Season], depths: Sequence[float], *, n: float, soil: FrostSoil
) -> tuple[tuple[NDArray[np.bool_], ...], ...]:
    """Whether the ground is frozen, on each day of each season, for each depth.

    Parameters: seasons, one at least; depths [m]; n, share of the air's frost that the surface feels; soil. Errors:
    InputError for a soil outside what was measured.
    """
    from rillwright.physics.ground_kernels import ice_in_ground

    air = np.concatenate([season.means for season in (seasons[0], *seasons)]) - MELTING
    surface = np.where(air < 0, n * air, air)
    density, water = soil.dry_density, soil.water
    ice = ice_in_ground(
        surface,
        _LAYERS,
        float(surface[len(seasons[0].days) :].mean()),
        frozen_conductivity(density, water=water, fine=soil.fine),
        unfrozen_conductivity(density, water=water, fine=soil.fine),
        soil_heat_capacity(density, water=water),
        soil_latent_heat(density, water=water),
    )
    middles = np.cumsum(_LAYERS) - _LAYERS / 2
    ends = np.cumsum([len(season.days) for season in (seasons[0], *seasons)])
    found = []
    for depth in depths:
        after = int(np.clip(np.searchsorted(middles, depth), 1, len(middles) - 1))
        share = np.clip((depth - middles[after - 1]) / (middles[after] - middles[after - 1]), 0.0, 1.0)
        frozen = (1 - share) * ice[:, after - 1] + share * ice[:, after] >= 0.5
        found.append(tuple(np.split(frozen, ends[:-1])[1:]))
    return tuple(found)
