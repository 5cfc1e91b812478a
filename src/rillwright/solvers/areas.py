"""The ground that each zone waters: lawn cells nearest to one of its heads."""

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.spatial import cKDTree

from rillwright.model.ground import Ground
from rillwright.model.plan import Head
from rillwright.solvers.coverage import judging_grid
from rillwright.solvers.coverage.grid import cells_of

__all__ = ["zone_areas"]


def zone_areas(heads: Sequence[Head], zone_of: Mapping[str, str], *, ground: Ground) -> dict[str, float]:
    """Area [m²] of lawn by zone: each cell of a lawn counts for the zone of that lawn's nearest head.

    Parameters: heads; zone_of, zone id by head id. The cells are those by which the lawn's evenness is judged.
    """
    areas = dict.fromkeys(zone_of.values(), 0.0)
    for lawn, shape in ground.lawns.items():
        own = [head for head in heads if head.lawn == lawn]
        if not own or shape.is_empty:
            continue
        grid = judging_grid(shape)
        cells = cells_of(shape, grid)
        x, y = (centres[cells] for centres in grid.centres())
        nearest = cKDTree([head.at for head in own]).query(np.column_stack([x, y]))[1]
        share = shape.area / len(x)
        for index, count in enumerate(np.bincount(nearest, minlength=len(own))):
            areas[zone_of[own[index].id]] += share * float(count)
    return areas
