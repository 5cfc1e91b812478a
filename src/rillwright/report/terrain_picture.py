"""The ground as a screen can draw it: contours with their heights, and how steep it is, cell by cell."""

import base64
import math
from dataclasses import dataclass

import numpy as np
import shapely

from rillwright.model.terrain import Terrain
from rillwright.physics.units import System
from rillwright.report.ground_drawn import grid_heights, height_step, lines_at
from rillwright.report.scale import Extent

__all__ = ["SLOPE_STEP", "Contour", "SlopeGrid", "TerrainPicture", "draw_terrain"]

SLOPE_STEP = 0.005  # [m/m] that one count stands for
_FULL = 255


@dataclass(frozen=True, slots=True)
class Contour:
    """One line of one height."""

    height: float  # [m]
    path: tuple[tuple[float, float], ...]  # [m]


@dataclass(frozen=True, slots=True)
class SlopeGrid:
    """Steepest fall on a grid of points; the first lies at (x0, y0), rows go up the plan."""

    x0: float  # [m]
    y0: float  # [m]
    step_x: float  # [m] between points
    step_y: float  # [m]
    nx: int
    ny: int
    step: float  # [m/m] for one count; a count of 255 is that or more
    counts: str  # nx · ny bytes, row by row from the lowest, in base64


@dataclass(frozen=True, slots=True)
class TerrainPicture:
    """The ground of one yard."""

    low: float  # [m] least height
    high: float  # [m] greatest height
    contour_step: float | None  # [m]; None on level ground
    contours: tuple[Contour, ...]
    slope: SlopeGrid
    steepest: float  # [m/m]


def draw_terrain(terrain: Terrain, extent: Extent, *, system: System) -> TerrainPicture:
    """Draw the ground within an extent (least x, least y, greatest x, greatest y) [m] that has a width and height."""
    xs, ys, heights = grid_heights(terrain, extent)
    low, high = float(heights.min()), float(heights.max())
    step = height_step(high - low, system)
    box = shapely.box(*extent)
    contours: list[Contour] = []
    if step is not None:
        for number in range(math.ceil(low / step), math.floor(high / step) + 1):
            for line in lines_at(number * step, xs, ys, heights, within=box):
                contours.append(Contour(number * step, tuple((float(x), float(y)) for x, y in line.coords)))
    grid_x, grid_y = np.meshgrid(xs, ys)
    slope = terrain.slope(np.column_stack([grid_x.ravel(), grid_y.ravel()]))
    counts = np.minimum(np.rint(slope / SLOPE_STEP), _FULL).astype(np.uint8)
    return TerrainPicture(
        low=low,
        high=high,
        contour_step=step,
        contours=tuple(contours),
        slope=SlopeGrid(
            x0=float(xs[0]),
            y0=float(ys[0]),
            step_x=float(xs[1] - xs[0]),
            step_y=float(ys[1] - ys[0]),
            nx=len(xs),
            ny=len(ys),
            step=SLOPE_STEP,
            counts=base64.b64encode(counts.tobytes()).decode(),
        ),
        steepest=float(slope.max()),
    )
