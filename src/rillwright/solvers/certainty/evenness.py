"""How evenly a lawn is watered in every draw: each head's own flow, in one of a few winds.

Statement. The rate on cell c in draw i is the sum over heads h of q_ih · u_whc, where q_ih is the head's flow in the
draw and u_whc what a unit of its flow lays on the cell in wind w, thrown at the planned pressure. The stated wind is
the mean of the hours of watering; speeds spread about it by Rayleigh's law (from memory: common for hourly winds). Each
of WINDS is equally likely, from the stated direction or from all round.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head
from rillwright.model.site import Yard
from rillwright.solvers.coverage import judging_grid, scene_of, water_rate
from rillwright.solvers.coverage.grid import cells_of, grid_round
from rillwright.solvers.coverage.weather import design_winds

__all__ = ["WINDS", "low_quarter", "uniformity_draws"]

Floats = NDArray[np.float64]

WINDS = 8
_ORDER = (0, 4, 2, 6, 1, 5, 3, 7)  # of the speeds, so that neighbouring directions do not get neighbouring speeds
_MOST_CELLS = 2500.0  # of a lawn; a large one is judged on coarser cells here
_CHUNK = 256  # draws at a time


def uniformity_draws(
    heads: Sequence[Head],
    flows: Floats,
    *,
    wind: Floats,
    lawn_id: str,
    ground: Ground,
    yard: Yard,
    catalogue: Catalogue,
) -> Floats:
    """DU of the low quarter of one lawn in every draw.

    Parameters: heads of the lawn as planned; flows (n, heads) [m³/s]; wind (n,) in 0 to 1, which of the winds blows.
    Returns: (n,) [-].
    """
    shape = ground.lawns[lawn_id]
    grid = judging_grid(shape)
    if shape.area > _MOST_CELLS * grid.cell**2:
        grid = grid_round(shape.bounds, cell=math.sqrt(shape.area / _MOST_CELLS), margin=0.5)
    cells = cells_of(shape, grid)
    one = [head.model_copy(update={"flow": 1.0}) for head in heads]
    winds = _winds(yard)
    blowing = np.minimum((wind * len(winds)).astype(np.intp), len(winds) - 1)
    found = np.zeros(len(flows))
    for number, blows in enumerate(winds):
        scene = scene_of(ground, yard, wind=blows)
        laid = [water_rate([head], catalogue=catalogue, grid=grid, scene=scene)[cells] for head in one]
        rows = np.flatnonzero(blowing == number)
        for part in np.array_split(rows, max(1, len(rows) // _CHUNK)):
            found[part] = low_quarter(flows[part] @ np.array(laid))
    return found


def _winds(yard: Yard) -> list[tuple[float, float]]:
    """Equally likely winds [m/s] as they blow; still air alone when none is stated."""
    stated = list(design_winds(yard).values())
    if not stated:
        return [(0.0, 0.0)]
    shares = [math.sqrt(-math.log(1 - (k + 0.5) / WINDS) * 4 / math.pi) for k in _ORDER]
    ways = [stated[k % len(stated)] for k in range(WINDS)]
    return [(share * x, share * y) for share, (x, y) in zip(shares, ways, strict=True)]


def low_quarter(depth: Floats) -> Floats:
    """DU of the low quarter of each row (n, cells); 0 where no water falls. Definition as in physics/evenness.py."""
    wanted = depth.shape[1] / 4
    whole = int(wanted)
    ordered = np.partition(depth, whole, axis=1)
    driest = (ordered[:, :whole].sum(axis=1) + (wanted - whole) * ordered[:, whole]) / wanted
    mean = depth.mean(axis=1)
    return np.asarray(np.where(mean > 0, driest / np.maximum(mean, 1e-300), 0.0))
