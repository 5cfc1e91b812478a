"""The ground on a drawing: areas, trees, contours of height, and the names of areas."""

import math
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from contourpy import LineType, contour_generator
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from rillwright.model.ground import Ground
from rillwright.model.plan import Plan
from rillwright.model.site import AreaKind
from rillwright.model.terrain import Terrain
from rillwright.physics.units import System, to_system
from rillwright.report.labels import LabelBoard
from rillwright.report.palette import CAUTION, GROUND, SOFT
from rillwright.report.scale import Extent, View
from rillwright.report.svg import Svg, polygon_path
from rillwright.report.text import NAME, SMALL

__all__ = [
    "contour_step",
    "contours_at",
    "draw_contours",
    "draw_ground",
    "draw_names",
    "draw_trees",
    "grid_heights",
    "height_step",
    "lines_at",
]

Floats = NDArray[np.float64]

_ORDER: tuple[AreaKind, ...] = ("lawn", "bed", "paving", "water", "keep-out", "building")
_MOST_CONTOURS = 12
_CONTOUR_CELLS = 120


def draw_ground(svg: Svg, ground: Ground, view: View, *, filled: bool = True) -> None:
    """Draw every kind of ground with its outline; unfilled, only buildings are tinted."""
    hatch = ET.Element("pattern", {"id": "hatch", "width": "2", "height": "2", "patternUnits": "userSpaceOnUse"})
    ET.SubElement(hatch, "path", {"d": "M0 2 L2 0", "stroke": CAUTION, "stroke-width": "0.2"})
    svg.layer("ground")
    for kind in _ORDER:
        d = polygon_path(ground.kinds[kind], view.xy)
        if not d:
            continue
        building = kind == "building"
        svg.path(
            d,
            fill=GROUND[kind] if filled or building else "none",
            fill_rule="evenodd",
            stroke=SOFT if building else "#9aa39a",
            stroke_width=0.45 if building else 0.2,
        )
        if kind == "keep-out" and filled:
            svg.path(d, fill=svg.define(hatch), fill_rule="evenodd")


def draw_trees(svg: Svg, plan: Plan, ground: Ground, view: View) -> None:
    """Draw trunks and the root zones round them."""
    svg.layer("trees")
    d = polygon_path(ground.roots, view.xy)
    if d:
        svg.path(d, fill="none", stroke="#7d6a46", stroke_width=0.18, stroke_dasharray="0.8 0.8")
    for tree in plan.yard.trees:
        x, y = view.xy(*tree.at)
        r = max(0.7, tree.trunk_radius * view.millimetres)
        svg.circle(x, y, r, fill="#7d6a46", stroke="#4f4229", stroke_width=0.2)


def contour_step(plan: Plan, ground: Ground) -> float | None:
    """Height [m] from one contour to the next; None when the ground is level or no height is known."""
    if not plan.yard.spot_heights:
        return None
    _, _, heights = grid_heights(ground.terrain, ground.extent)
    return height_step(float(heights.max() - heights.min()), plan.yard.units)


def height_step(span: float, system: System) -> float | None:
    """Height [m] from one contour to the next on ground that spans so much [m]; None when it is level."""
    if span < 0.05:
        return None
    steps = (0.1524, 0.3048, 0.6096, 1.524, 3.048) if system == "US" else (0.1, 0.25, 0.5, 1.0, 2.0)
    return next((s for s in steps if span / s <= _MOST_CONTOURS), steps[-1] * math.ceil(span / steps[-1] / 40))


def draw_contours(svg: Svg, plan: Plan, ground: Ground, view: View, board: LabelBoard, *, step: float) -> None:
    """Draw the contours a step [m] apart, each with its height where there is room for the figure."""
    svg.layer("contours")
    for level, part in contours_at(ground, step):
        words = f"{to_system(level, 'length', plan.yard.units):.2f}".rstrip("0").rstrip(".")
        line = LineString([view.xy(x, y) for x, y in part.coords])
        svg.line(line.coords, stroke="#8a7f6a", stroke_width=0.14)
        if line.length < 14:
            continue
        for share in (0.5, 0.3, 0.7, 0.15, 0.85):
            middle = line.interpolate(share, normalized=True)
            spot = board.claim(middle.x, middle.y, words, SMALL)
            if spot:
                svg.text(*spot, words, SMALL, fill="#6a5f4a", halo=True)
                break


def contours_at(ground: Ground, step: float) -> Iterator[tuple[float, LineString]]:
    """Contours of the open ground a step [m] apart, each with its height [m]."""
    xs, ys, heights = grid_heights(ground.terrain, ground.extent)
    levels = np.arange(math.ceil(heights.min() / step), math.floor(heights.max() / step) + 1) * step
    open_ground = ground.site.difference(ground.kinds["building"])
    for level in levels.tolist():
        for part in lines_at(level, xs, ys, heights, within=open_ground):
            yield level, part


def lines_at(level: float, xs: Floats, ys: Floats, values: Floats, *, within: BaseGeometry) -> Iterator[LineString]:
    """Lines of one level over a grid, values (len(ys), len(xs)), cut to a shape; crumbs are left out."""
    for line in contour_generator(xs, ys, values, line_type=LineType.Separate).lines(level):
        if len(line) < 2:
            continue
        for part in shapely.get_parts(shapely.intersection(LineString(np.asarray(line)), within)):
            if isinstance(part, LineString) and part.length >= 1.0:
                yield part


def draw_names(
    svg: Svg, plan: Plan, ground: Ground, view: View, board: LabelBoard, *, kinds: Sequence[AreaKind]
) -> None:
    """Name the areas of some kinds where their names fit; lawns may have a pipe under their name."""
    svg.layer("names")
    for area in sorted((a for a in plan.yard.areas if a.kind in kinds), key=lambda a: kinds.index(a.kind)):
        shape = ground.each_lawn.get(area.id)
        if area.kind != "lawn":
            shape = Polygon(area.outline, area.holes).intersection(ground.kinds[area.kind])
        if shape is None:
            continue
        spots = [view.xy(x, y) for x, y in _middles(shape)]
        passes = (True, False) if area.kind == "lawn" else (True,)
        taken = (board.claim(x, y, area.id, NAME, clear=clear) for clear in passes for x, y in spots)
        spot = next((s for s in taken if s), None)
        if spot:
            svg.text(*spot, area.id, NAME, halo=True, fill="#4c5a44", font_style="italic")


def grid_heights(terrain: Terrain, extent: Extent) -> tuple[Floats, Floats, Floats]:
    """Heights [m] on a grid over an extent: its xs, its ys, and the heights (len(ys), len(xs))."""
    low_x, low_y, high_x, high_y = extent
    xs, ys = np.linspace(low_x, high_x, _CONTOUR_CELLS), np.linspace(low_y, high_y, _CONTOUR_CELLS)
    grid_x, grid_y = np.meshgrid(xs, ys)
    heights = terrain.height(np.column_stack([grid_x.ravel(), grid_y.ravel()]))
    return xs, ys, np.asarray(heights, dtype=float).reshape(grid_x.shape)


def _middles(shape: BaseGeometry) -> list[tuple[float, float]]:
    """Places for a name in a shape, those farthest from its edge first; none where no polygon is left."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    if not parts:
        return []
    biggest = max(parts, key=lambda part: part.area)
    low_x, low_y, high_x, high_y = biggest.bounds
    xs, ys = np.meshgrid(np.linspace(low_x, high_x, 13)[1:-1], np.linspace(low_y, high_y, 13)[1:-1])
    points = shapely.points(xs.ravel(), ys.ravel())
    points = points[shapely.contains(biggest, points)]
    room = shapely.distance(points, biggest.boundary)
    centre = shapely.maximum_inscribed_circle(biggest).coords[0]
    best = points[np.argsort(-room, kind="stable")][:40]
    return [(centre[0], centre[1]), *((p.x, p.y) for p in best)]
