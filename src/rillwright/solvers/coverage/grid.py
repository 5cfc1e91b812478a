"""Grids of square cells over the ground, and the ground's surfaces drawn on one."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from rillwright.model.ground import Ground
from rillwright.solvers.coverage.kernels import fill
from rillwright.solvers.coverage.shadow import segments_of

__all__ = [
    "BED",
    "BUILDING",
    "LAWN",
    "OFF_SITE",
    "OTHER_LAWN",
    "PAVING",
    "SURFACES",
    "TRUNK",
    "Grid",
    "Surfaces",
    "cells_of",
    "draw_surfaces",
    "grid_round",
    "make_grid",
]

Floats = NDArray[np.float64]

SURFACES = 7
OFF_SITE, LAWN, PAVING, BUILDING, TRUNK, OTHER_LAWN, BED = range(SURFACES)


@dataclass(frozen=True, slots=True)
class Grid:
    """Square cells; cell (0, 0) has its lower left corner at (x0, y0). Arrays on it have shape (ny, nx)."""

    x0: float  # [m]
    y0: float  # [m]
    cell: float  # [m] side
    nx: int
    ny: int

    def centres(self) -> tuple[Floats, Floats]:
        """Coordinates [m] of the cell centres, each of shape (ny, nx)."""
        x = self.x0 + (np.arange(self.nx) + 0.5) * self.cell
        y = self.y0 + (np.arange(self.ny) + 0.5) * self.cell
        grid_x, grid_y = np.meshgrid(x, y)
        return grid_x, grid_y


def make_grid(ground: Ground, *, cell: float = 0.25, margin: float = 0.0) -> Grid:
    """Lay a grid over all drawn ground and `margin` [m] round it, with cells of side `cell` [m]."""
    return grid_round(ground.extent, cell=cell, margin=margin)


def grid_round(bounds: tuple[float, float, float, float], *, cell: float, margin: float) -> Grid:
    """Lay a grid over a box (least x, least y, greatest x, greatest y) [m] and `margin` [m] round it."""
    if cell <= 0 or margin < 0:
        raise ValueError(f"a grid needs a cell above 0 and a margin of at least 0, not {cell} and {margin}")
    low_x, low_y, high_x, high_y = bounds
    nx = max(1, math.ceil((high_x - low_x + 2 * margin) / cell - 1e-9))
    ny = max(1, math.ceil((high_y - low_y + 2 * margin) / cell - 1e-9))
    spare_x, spare_y = nx * cell - (high_x - low_x), ny * cell - (high_y - low_y)
    return Grid(low_x - spare_x / 2, low_y - spare_y / 2, cell, nx, ny)


def cells_of(shape: BaseGeometry, grid: Grid) -> NDArray[np.bool_]:
    """Cells by which the evenness of water on a shape is judged; boolean, shape (ny, nx).

    A cell counts when its centre lies in the shape, half a cell or more from the edge: like a catch can, it must not
    hang over the edge, where half of it would see no water. A shape too thin for that counts by centres alone.
    """
    x, y = grid.centres()
    inner = shape.buffer(-grid.cell / 2, join_style="mitre")
    used = inner if inner.area > 0.5 * shape.area else shape
    shapely.prepare(used)
    mask = np.asarray(shapely.contains_xy(used, x, y))
    if not mask.any():
        shapely.prepare(shape)
        mask = np.asarray(shapely.contains_xy(shape, x, y))
    return mask


@dataclass(frozen=True, slots=True)
class Surfaces:
    """What lies where, as seen by one lawn, on a fine grid; off the grid is OFF_SITE."""

    grid: Grid
    code: NDArray[np.uint8]  # (ny + 2, nx + 2), one cell of OFF_SITE all round

    @property
    def origin(self) -> tuple[float, float]:
        """Lower left corner [m] of the first cell that is not at the border."""
        return self.grid.x0, self.grid.y0


def draw_surfaces(ground: Ground, lawn_id: str, *, margin: float) -> Surfaces:
    """Draw the ground round one lawn, as far as its heads may throw (`margin` [m])."""
    bounds = ground.lawns[lawn_id].bounds
    size = (bounds[2] - bounds[0] + 2 * margin) * (bounds[3] - bounds[1] + 2 * margin)
    grid = grid_round(bounds, cell=0.05 if size < 1200 else 0.1, margin=margin)
    code = np.zeros((grid.ny + 2, grid.nx + 2), dtype=np.uint8)
    inside = np.zeros((grid.ny, grid.nx), dtype=np.uint8)
    box = shapely.box(bounds[0] - margin, bounds[1] - margin, bounds[2] + margin, bounds[3] + margin)
    unpaved = shapely.unary_union([ground.kinds[kind] for kind in ("bed", "water", "keep-out")])
    layers = (
        (BED, unpaved),
        (OTHER_LAWN, ground.kinds["lawn"]),
        (LAWN, ground.lawns[lawn_id]),
        (PAVING, ground.kinds["paving"]),
        (BUILDING, shapely.union(ground.kinds["building"], ground.keep_dry)),  # a search wets neither
        (TRUNK, ground.trunks),
    )
    for value, shape in layers:
        fill(segments_of(shape.intersection(box)), grid.x0, grid.y0, grid.cell, value, inside)
    code[1:-1, 1:-1] = inside
    return Surfaces(grid, code)
