"""How a drawing at a true scale falls on sheets: on one, or on parts that join along match lines.

The largest customary scale at which the site fits one sheet is taken, lying or upright. Where that is smaller than
LEAST_SCALE, at which heads 4 m apart still have 2 cm between them for their names, the site is cut into even
parts: as few as LEAST_SCALE allows, then as large as they allow.
"""

import math
from dataclasses import dataclass
from itertools import product
from typing import Literal

from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from rillwright.errors import InputError
from rillwright.physics.units import System
from rillwright.report.scale import ROOM, Extent, Scale, Sheet, View, scales

__all__ = ["LEAST_SCALE", "MOST_PARTS", "Side", "Tile", "tiles_of"]

LEAST_SCALE = 200.0  # site length / paper length; judgement
MOST_PARTS = 100
MATCH_ROOM = 7.0  # [mm] kept round a part, for its match lines and their numbers

Side = Literal["left", "top", "right", "bottom"]
_STEPS: dict[Side, tuple[int, int]] = {"left": (-1, 0), "right": (1, 0), "top": (0, 1), "bottom": (0, -1)}


@dataclass(frozen=True, slots=True)
class Tile:
    """One part of the site on its sheet."""

    number: int  # from 1, by rows from the upper left
    view: View
    site: Extent  # [m] of its own ground
    window: Extent  # [mm] left, top, right, bottom of what is drawn on the sheet
    beside: dict[Side, int]  # numbers of the parts that join it


@dataclass(frozen=True, slots=True)
class _Grid:
    sheet: Sheet
    columns: int
    rows: int
    scale: Scale

    @property
    def parts(self) -> int:
        return self.columns * self.rows


def tiles_of(extent: Extent, sheet: Sheet, *, system: System, drawn: BaseGeometry, scale: Scale | None) -> list[Tile]:
    """Cut the site into parts that each fit a sheet at one scale.

    Parameters: extent [m]; sheet, lying; drawn, what there is to draw [m]: parts without any of it are left out;
    scale, None for the best. Errors: InputError for a scale at which there would be more than MOST_PARTS parts.
    """
    tried = [scale] if scale else scales(system)
    grids = [_grid(extent, one, each) for one in (sheet, sheet.upright) for each in tried]
    best = min(grids, key=lambda grid: (*_worth(grid), grid.sheet is not sheet))
    if best.parts > MOST_PARTS:
        name = f"At {best.scale[1]} on {sheet.name}"
        raise InputError(f"{name} the yard takes {best.parts} sheets: choose a smaller scale or larger paper")
    return _cut(best, extent, drawn)


def _worth(grid: _Grid) -> tuple[bool, bool, int, float]:
    """The less the better."""
    return grid.parts > MOST_PARTS, grid.scale[0] > LEAST_SCALE, grid.parts, grid.scale[0]


def _grid(extent: Extent, sheet: Sheet, scale: Scale) -> _Grid:
    left, top, right, bottom = sheet.field
    wide, high = ((extent[n + 2] - extent[n]) * 1000 / scale[0] for n in (0, 1))
    if wide <= right - left - 2 * ROOM and high <= bottom - top - 2 * ROOM:
        return _Grid(sheet, 1, 1, scale)
    columns = math.ceil(wide / (right - left - 2 * MATCH_ROOM) - 1e-9)
    rows = math.ceil(high / (bottom - top - 2 * MATCH_ROOM) - 1e-9)
    return _Grid(sheet, max(columns, 1), max(rows, 1), scale)


def _cut(grid: _Grid, extent: Extent, drawn: BaseGeometry) -> list[Tile]:
    """The parts that hold something, numbered by rows from the upper left."""
    wide, high = (extent[2] - extent[0]) / grid.columns, (extent[3] - extent[1]) / grid.rows
    sites: dict[tuple[int, int], Extent] = {}
    for row, column in product(reversed(range(grid.rows)), range(grid.columns)):
        x, y = extent[0] + column * wide, extent[1] + row * high
        site = (x, y, x + wide, y + high)
        if grid.parts == 1 or drawn.intersects(box(*site)):
            sites[column, row] = site
    numbers = {place: number for number, place in enumerate(sites, start=1)}
    return [_tile(grid, place, site, numbers) for place, site in sites.items()]


def _tile(grid: _Grid, place: tuple[int, int], site: Extent, numbers: dict[tuple[int, int], int]) -> Tile:
    view = View(grid.sheet, grid.scale[0], ((site[0] + site[2]) / 2, (site[1] + site[3]) / 2), grid.scale[1])
    beside = {
        side: numbers[place[0] + dx, place[1] + dy]
        for side, (dx, dy) in _STEPS.items()
        if (place[0] + dx, place[1] + dy) in numbers
    }
    (x0, y1), (x1, y0) = view.xy(site[0], site[1]), view.xy(site[2], site[3])
    left, top, right, bottom = grid.sheet.field
    window = (
        x0 if "left" in beside else left,
        y0 if "top" in beside else top,
        x1 if "right" in beside else right,
        y1 if "bottom" in beside else bottom,
    )
    return Tile(numbers[place], view, site, window, beside)
