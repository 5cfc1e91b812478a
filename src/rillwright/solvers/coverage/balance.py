"""Where the water of heads lands: on the lawn, on paving, on a building, at the neighbour's."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head
from rillwright.solvers.coverage.depth import parcels_of
from rillwright.solvers.coverage.grid import Grid, grid_round
from rillwright.solvers.coverage.kernels import cells_at
from rillwright.solvers.coverage.shadow import Scene

__all__ = ["Outlines", "WaterBalance", "outlines_round", "share_out", "water_balance"]

Floats = NDArray[np.float64]

_SPACING = 0.08  # [m] of the parcels
_CELL = 0.25  # [m] of the map that says which outlines are near


@dataclass(frozen=True, slots=True)
class WaterBalance:
    """Where the water of a set of heads lands [m³/s]; but for keep_dry the parts add up to the flow of all nozzles."""

    on_lawn: float
    on_paving: float
    on_building: float
    off_site: float
    elsewhere: float
    keep_dry: float  # of on_paving, what lands on paving that is to stay dry

    @property
    def total(self) -> float:
        """All the water [m³/s]."""
        return self.on_lawn + self.on_paving + self.on_building + self.off_site + self.elsewhere


@dataclass(frozen=True, slots=True)
class Outlines:
    """The shapes that a lawn's water may land on, mapped so that only water near an outline is put against it."""

    shapes: Mapping[str, BaseGeometry]
    grid: Grid
    inside: Mapping[str, NDArray[np.bool_]]  # (ny, nx) by shape: whether the cell's middle lies in it
    near: NDArray[np.bool_]  # (ny, nx) whether an outline may run through the cell

    def within(self, x: Floats, y: Floats) -> dict[str, NDArray[np.bool_]]:
        """Say for points (n,) [m] which shapes hold them; exact, the map only saves work."""
        grid, place = self.grid, np.empty(len(x), dtype=np.int64)
        doubtful = cells_at(x, y, grid.x0, grid.y0, grid.cell, self.near, place)
        found: dict[str, NDArray[np.bool_]] = {}
        for name, shape in self.shapes.items():
            held = self.inside[name].take(place)
            held[doubtful] = shapely.contains_xy(shape, x[doubtful], y[doubtful])
            found[name] = held
        return found


def outlines_round(ground: Ground, lawn_id: str, *, reach: float) -> Outlines:
    """Map the ground round a lawn, as far as its heads may throw (`reach` [m])."""
    shapes = {
        "lawn": ground.lawns[lawn_id],
        "paving": ground.kinds["paving"],
        "keep dry": ground.keep_dry,
        "building": ground.kinds["building"],
        "site": ground.site,
    }
    grid = grid_round(ground.lawns[lawn_id].bounds, cell=_CELL, margin=reach)
    x, y = grid.centres()
    near = np.zeros((grid.ny + 2, grid.nx + 2), dtype=bool)
    inside: dict[str, NDArray[np.bool_]] = {}
    for name, shape in shapes.items():
        shapely.prepare(shape)
        inside[name] = np.asarray(shapely.contains_xy(shape, x, y))
        if shape.is_empty:
            continue
        points = shapely.get_coordinates(shapely.segmentize(shape.boundary, _CELL / 2))
        column = np.clip(np.floor((points[:, 0] - grid.x0) / grid.cell).astype(int) + 1, 0, grid.nx + 1)
        row = np.clip(np.floor((points[:, 1] - grid.y0) / grid.cell).astype(int) + 1, 0, grid.ny + 1)
        near[row, column] = True
    grown = near.copy()  # an outline may cut a corner between two points of it
    for axis in (0, 1):
        grown |= np.roll(grown, 1, axis=axis) | np.roll(grown, -1, axis=axis)
    return Outlines(shapes, grid, inside, grown[1:-1, 1:-1])


def share_out(head: Head, *, catalogue: Catalogue, outlines: Outlines, scene: Scene) -> WaterBalance:
    """Say where one head's water lands, parcel by parcel against the outlines themselves.

    The grid of depths is left out on purpose: its cells straddle outlines, and a wall needs a sharper answer than
    that. Water that meets a building counts as on the building; on a trunk, bed or other lawn as elsewhere.
    """
    water = parcels_of(head, catalogue=catalogue, spacing=_SPACING, scene=scene)
    flow = water.share * head.flow
    landed = {name: float(flow[held].sum()) for name, held in outlines.within(water.x, water.y).items()}
    total = float(flow.sum())
    on_lawn, on_paving, on_building = landed["lawn"], landed["paving"], landed["building"]
    return WaterBalance(
        on_lawn=on_lawn,
        on_paving=on_paving,
        on_building=on_building,
        off_site=max(0.0, total - landed["site"]),
        elsewhere=max(0.0, landed["site"] - on_lawn - on_paving - on_building),
        keep_dry=landed["keep dry"],
    )


def water_balance(shares: Iterable[WaterBalance]) -> WaterBalance:
    """Add up where the water of several heads lands."""
    parts = list(shares)
    return WaterBalance(
        **{name: sum(getattr(part, name) for part in parts) for name in WaterBalance.__dataclass_fields__}
    )
