"""The ground that each zone waters: lawn cells nearest to one of its heads."""

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.spatial import cKDTree

from rillwright.model.ground import Ground
from rillwright.model.plan import Head
from rillwright.solvers.coverage import Grid
from rillwright.solvers.coverage.grid import cells_of

__all__ = ["zone_areas"]


def zone_areas(heads: Sequence[Head], zone_of: Mapping[str, str], *, ground: Ground, grid: Grid) -> dict[str, float]:
    """Area [m²] of lawn by zone: each cell of a lawn counts for the zone of that lawn's nearest head.

    Parameters: heads; zone_of, zone id by head id; grid, whose cells are counted.
    """
    areas = dict.fromkeys(zone_of.values(), 0.0)
    xs, ys = grid.centres()
    for lawn, shape in ground.lawns.items():
        own = [head for head in heads if head.lawn == lawn]
        if not own or shape.is_empty:
            continue
        rows, columns = np.nonzero(cells_of(shape, grid))
        nearest = cKDTree([head.at for head in own]).query(np.column_stack([xs[rows, columns], ys[rows, columns]]))[1]
        share = shape.area / max(len(rows), 1)
        for index, count in enumerate(np.bincount(nearest, minlength=len(own))):
            areas[zone_of[own[index].id]] += share * float(count)
    return areas
