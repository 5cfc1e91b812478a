"""The plan, true to scale: ground, contours, heads with their arcs, pipes with sizes, valve places."""

import math
import xml.etree.ElementTree as ET

import numpy as np
import shapely
from contourpy import LineType, contour_generator
from shapely.geometry import LineString, Point

from rillwright.model.ground import Ground
from rillwright.model.plan import Pipe, Plan
from rillwright.model.site import AreaKind
from rillwright.physics.units import to_system
from rillwright.report.legend import draw_column
from rillwright.report.marks import head_mark
from rillwright.report.palette import GROUND, INK, MAIN, zone_colour, zone_dash
from rillwright.report.scale import View, fit_view
from rillwright.report.svg import Svg, polygon_path, sector_path
from rillwright.report.text import LabelBoard

__all__ = ["draw_plan"]

Bounds = tuple[float, float, float, float]
LABEL = 2.5  # [mm] text on the plan, about 7 pt
LANE = 0.45  # [mm] between pipes that share a trench


def draw_plan(plan: Plan, ground: Ground, *, depth: tuple[str, Bounds] | None = None) -> str:
    """Draw the plan on one sheet and return SVG text.

    depth, a data address and its site bounds (least x, least y, greatest x, greatest y) [m], is laid under the
    heads when given: the same sheet then shows the water's depth.
    """
    view = fit_view(ground.extent, system=plan.yard.units)
    svg = Svg(view.sheet.width, view.sheet.height, f"{plan.yard.name}: plan {view.name}")
    board = LabelBoard(view.sheet.width - view.sheet.margin - view.sheet.column, view.sheet.height)
    svg.rect(0, 0, view.sheet.width, view.sheet.height, fill="#ffffff")
    _ground(svg, ground, view)
    if depth:
        href, (low_x, low_y, high_x, high_y) = depth
        left, top = view.xy(low_x, high_y)
        right, bottom = view.xy(high_x, low_y)
        svg.image(left, top, right - left, bottom - top, href)
    _contours(svg, ground, view, plan)
    _trees(svg, plan, view)
    zone_of = {head: index for index, zone in enumerate(plan.zones) for head in zone.heads}
    _throws(svg, plan, view, zone_of, filled=depth is None)
    _pipes(svg, plan, view)
    _block_symbols(board, plan, view)
    _places(svg, plan, view, board)
    _heads(svg, plan, view, zone_of, board)
    _pipe_labels(svg, plan, view, board)
    _area_labels(svg, ground, view, board)
    draw_column(svg, plan, view, with_depth=depth is not None)
    return svg.render()


def _ground(svg: Svg, ground: Ground, view: View) -> None:
    hatch = ET.Element("pattern", {"id": "hatch", "width": "2", "height": "2", "patternUnits": "userSpaceOnUse"})
    ET.SubElement(hatch, "path", {"d": "M0 2 L2 0", "stroke": "#b0513a", "stroke-width": "0.2"})
    svg.define(hatch)
    svg.layer("ground")
    order: tuple[AreaKind, ...] = ("lawn", "bed", "paving", "water", "keep-out", "building")
    for kind in order:
        d = polygon_path(ground.kinds[kind], view)
        if d:
            edge = "#6c757d" if kind == "building" else "#9aa39a"
            wide = 0.45 if kind == "building" else 0.2
            svg.path(d, fill=GROUND[kind], fill_rule="evenodd", stroke=edge, stroke_width=wide)
            if kind == "keep-out":
                svg.path(d, fill="url(#hatch)", fill_rule="evenodd")
    d = polygon_path(ground.roots, view)
    if d:
        svg.path(d, fill="none", stroke="#7d6a46", stroke_width=0.18, stroke_dasharray="0.8 0.8")


def _contours(svg: Svg, ground: Ground, view: View, plan: Plan) -> None:
    if not plan.yard.spot_heights:
        return
    svg.layer("contours")
    low_x, low_y, high_x, high_y = ground.extent
    xs, ys = np.linspace(low_x, high_x, 120), np.linspace(low_y, high_y, 120)
    grid_x, grid_y = np.meshgrid(xs, ys)
    heights = ground.terrain.height(np.column_stack([grid_x.ravel(), grid_y.ravel()])).reshape(grid_x.shape)
    site = ground.site
    span = float(heights.max() - heights.min())
    if span < 0.05:
        return
    foot = plan.yard.units == "US"
    steps = (0.1524, 0.3048, 0.6096, 1.524, 3.048) if foot else (0.1, 0.25, 0.5, 1.0, 2.0)
    step = next((s for s in steps if span / s <= 12), steps[-1])
    made = contour_generator(xs, ys, heights, line_type=LineType.Separate)
    for level in np.arange(math.ceil(heights.min() / step), math.floor(heights.max() / step) + 1) * step:
        for line in made.lines(float(level)):
            inside = shapely.intersection(LineString(np.asarray(line)), site) if len(line) > 1 else None
            for part in shapely.get_parts(inside) if inside is not None else ():
                if part.geom_type != "LineString" or part.length < 1.0:
                    continue
                points = [view.xy(x, y) for x, y in part.coords]
                svg.line(points, stroke="#8a7f6a", stroke_width=0.14)
                middle = part.interpolate(0.5, normalized=True)
                x, y = view.xy(middle.x, middle.y)
                shown = to_system(float(level), "length", plan.yard.units)
                svg.text(x, y, f"{shown:.4g}", 1.9, fill="#7a6f5a", text_anchor="middle", halo=True)


def _trees(svg: Svg, plan: Plan, view: View) -> None:
    svg.layer("trees")
    for tree in plan.yard.trees:
        x, y = view.xy(*tree.at)
        svg.circle(
            x, y, max(0.7, tree.trunk_radius * view.millimetres), fill="#7d6a46", stroke="#4f4229", stroke_width=0.2
        )


def _throws(svg: Svg, plan: Plan, view: View, zone_of: dict[str, int], *, filled: bool) -> None:
    svg.layer("throws")
    for head in plan.heads:
        colour = zone_colour(zone_of.get(head.id, 0))
        style: dict[str, str | float] = {
            "fill": colour if filled else "none",
            "fill_opacity": 0.07,
            "stroke": colour,
            "stroke_width": 0.16,
            "stroke_opacity": 0.65,
        }
        x, y = view.xy(*head.at)
        if head.arc > 0:
            svg.path(sector_path(x, y, head.radius * view.millimetres, head.arc_start, head.arc), **style)


def _heads(svg: Svg, plan: Plan, view: View, zone_of: dict[str, int], board: LabelBoard) -> None:
    svg.layer("heads")
    for head in plan.heads:
        colour = zone_colour(zone_of.get(head.id, 0))
        x, y = view.xy(*head.at)
        head_mark(svg, head, x, y, colour)
        spot = board.place(x, y, head.id, LABEL)
        if spot:
            svg.text(*spot, head.id, LABEL, halo=True, fill=INK)


def _lane(plan: Plan, pipe: Pipe) -> float:
    """Sideways shift on paper [mm], so that pipes in one trench are seen side by side."""
    if pipe.zone is None:
        return 0.0
    index = next(i for i, zone in enumerate(plan.zones) if zone.id == pipe.zone)
    return (1 + index // 2) * LANE * (1 if index % 2 == 0 else -1)


def _on_paper(pipe: Pipe, view: View, shift: float) -> list[tuple[float, float]]:
    points = [view.xy(x, y) for x, y in pipe.path]
    line = LineString(points)
    if shift and line.length > 3 * abs(shift):
        moved = line.offset_curve(shift, join_style="mitre")
        if moved.geom_type == "LineString" and not moved.is_empty:
            return list(moved.coords)
    return points


def _pipes(svg: Svg, plan: Plan, view: View) -> None:
    svg.layer("sleeves")
    for trench in plan.trenches:
        if trench.sleeve:
            points = [view.xy(x, y) for x, y in trench.path]
            svg.line(points, stroke="#b9a36b", stroke_width=2.6, stroke_opacity=0.8)
    svg.layer("pipes")
    index_of = {zone.id: i for i, zone in enumerate(plan.zones)}
    for pipe in sorted(plan.pipes, key=lambda p: p.role != "lateral"):
        wide = 0.35 + 9.0 * pipe.bore
        if pipe.zone is None:
            svg.line(_on_paper(pipe, view, 0.0), stroke=MAIN, stroke_width=wide + 0.35)
        else:
            index = index_of[pipe.zone]
            dash = zone_dash(index)
            points = _on_paper(pipe, view, _lane(plan, pipe))
            svg.line(points, stroke=zone_colour(index), stroke_width=wide, stroke_dasharray=dash)


def _block_symbols(board: LabelBoard, plan: Plan, view: View) -> None:
    """Keep labels off the marks of heads and valve places."""
    marks = [Point(view.xy(*head.at)).buffer(1.0) for head in plan.heads]
    marks += [Point(view.xy(*place.at)).buffer(1.9) for place in plan.places]
    marks.append(Point(view.xy(*plan.yard.water_entry.at)).buffer(2.0))
    board.block(marks)


def _places(svg: Svg, plan: Plan, view: View, board: LabelBoard) -> None:
    svg.layer("valve-places")
    for place in plan.places:
        x, y = view.xy(*place.at)
        svg.rect(x - 1.6, y - 1.6, 3.2, 3.2, fill="#ffffff", stroke=MAIN, stroke_width=0.6)
        svg.line([(x - 1.6, y - 1.6), (x + 1.6, y + 1.6)], stroke=MAIN, stroke_width=0.35)
        words = f"{place.id}: {' '.join(place.zones)}"
        spot = board.place(x, y, words, 2.8, reach=(2.4, 4, 6, 9))
        if spot:
            svg.text(*spot, words, 2.8, halo=True, fill=MAIN, font_weight="bold")
    x, y = view.xy(*plan.yard.water_entry.at)
    svg.circle(x, y, 1.9, fill=MAIN, stroke="#ffffff", stroke_width=0.3)
    svg.text(x, y + 0.95, "W", 2.6, fill="#ffffff", text_anchor="middle", font_weight="bold")
    if plan.yard.controller.at:
        x, y = view.xy(*plan.yard.controller.at)
        svg.rect(x - 1.5, y - 1.5, 3, 3, fill=MAIN)
        svg.text(x, y + 0.95, "C", 2.6, fill="#ffffff", text_anchor="middle", font_weight="bold")


def _pipe_labels(svg: Svg, plan: Plan, view: View, board: LabelBoard) -> None:
    """Print the size of every run that is long enough on paper to carry its label."""
    svg.layer("pipe-sizes")
    index_of = {zone.id: i for i, zone in enumerate(plan.zones)}
    for pipe in sorted(plan.pipes, key=lambda p: -p.length):
        if pipe.length * view.millimetres < 9:
            continue
        line = LineString(_on_paper(pipe, view, _lane(plan, pipe)))
        colour = MAIN if pipe.zone is None else zone_colour(index_of[pipe.zone])
        for share in (0.5, 0.35, 0.65):
            middle = line.interpolate(share, normalized=True)
            if board.claim(middle.x, middle.y, pipe.size, LABEL):
                svg.text(middle.x, middle.y + 0.9, pipe.size, LABEL, halo=True, fill=colour, text_anchor="middle")
                break


def _area_labels(svg: Svg, ground: Ground, view: View, board: LabelBoard) -> None:
    svg.layer("names")
    shapes = list(ground.lawns.items())
    shapes += [("building", ground.kinds["building"])] if not ground.kinds["building"].is_empty else []
    for name, shape in shapes:
        if shape.is_empty:
            continue
        biggest = max(shapely.get_parts(shape), key=lambda part: part.area)
        centre = shapely.maximum_inscribed_circle(biggest).coords[0]
        x, y = view.xy(*centre)
        if board.claim(x, y, name, 3.0):
            svg.text(x, y + 1.1, name, 3.0, halo=True, fill="#4c5a44", text_anchor="middle", font_style="italic")
