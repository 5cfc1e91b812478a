"""The depth of water over the yard when each lawn gets one unit on average."""

import numpy as np
from numpy.typing import NDArray

from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.solvers.coverage import make_grid, scene_of, water_rate

__all__ = ["relative_depth"]

Bounds = tuple[float, float, float, float]


def relative_depth(plan: Plan, ground: Ground, catalogue: Catalogue) -> tuple[NDArray[np.float64], Bounds]:
    """Depth relative to each lawn's mean, on a grid (ny, nx; first row lowest y), and the grid's bounds [m].

    Zones of one lawn run equally long; lawns with other head classes run for other times, hence the share.
    """
    reach = max(head.radius for head in plan.heads)
    grid = make_grid(ground, margin=reach)
    mean = {lawn.id: lawn.evenness.mean_rate for lawn in plan.lawns}
    heads = [head.model_copy(update={"flow": head.flow / mean[head.lawn]}) for head in plan.heads]
    total = water_rate(heads, catalogue=catalogue, grid=grid, scene=scene_of(ground, plan.yard))
    bounds = (grid.x0, grid.y0, grid.x0 + grid.nx * grid.cell, grid.y0 + grid.ny * grid.cell)
    return total, bounds
