"""The depth sheet, true to scale: how much water each spot of the lawns gets, against its lawn's mean."""

import base64
import io
import math
import xml.etree.ElementTree as ET

import numpy as np
import shapely
from matplotlib.colors import to_hex, to_rgba
from matplotlib.image import imsave
from numpy.typing import NDArray
from scipy.ndimage import zoom
from scipy.optimize import brentq
from shapely.geometry.base import BaseGeometry

from rillwright.model.ground import Ground
from rillwright.model.plan import Plan
from rillwright.report.column import Column, draw_furniture
from rillwright.report.ground_drawn import draw_ground, draw_names, lines_at
from rillwright.report.labels import LabelBoard
from rillwright.report.palette import BESIDE, INK
from rillwright.report.plan_drawing import SMALL_SHEET_ZONES
from rillwright.report.scale import Extent, View, fit_view
from rillwright.report.svg import Svg, polygon_path
from rillwright.report.text import SMALL, TEXT
from rillwright.report.water_colours import DRIEST, WETTEST, water_colours

__all__ = ["DRY", "WET", "draw_depth"]

Floats = NDArray[np.float64]

DRY, WET = 0.5, 1.5  # relative depths that have a line of their own, so that grey print tells dry from wet
_FINE_CELL = 0.6  # [mm] on paper
_MOST_FINER = 4
_RIM = 0.3  # [m] along a lawn's edge left without lines: its cells lie half outside
_DRY_WINDOW = 0.05  # of the lawn's area, as the scheduling coefficient has it


def draw_depth(plan: Plan, ground: Ground, *, depth: Floats, bounds: Extent) -> str:
    """Draw the depth sheet and return SVG text.

    Parameters: depth, relative to each lawn's mean, (ny, nx), first row lowest y; bounds of its cells [m].
    """
    view = fit_view(ground.extent, system=plan.yard.units, small=len(plan.zones) <= SMALL_SHEET_ZONES)
    svg = Svg(view.sheet.width, view.sheet.height, name="depth", title=f"{plan.yard.name}: depth of water {view.name}")
    svg.rect(0, 0, view.sheet.width, view.sheet.height, fill="#ffffff")
    board = LabelBoard(view.sheet.field)
    svg.layer("water")
    clip = ET.Element("clipPath", {"id": "lawn"})
    ET.SubElement(clip, "path", {"d": polygon_path(ground.kinds["lawn"], view.xy), "clip-rule": "evenodd"})
    inside = svg.define(clip)
    fine = _fine(depth, bounds, view)
    left, top = view.xy(bounds[0], bounds[3])
    right, bottom = view.xy(bounds[2], bounds[1])
    svg.image(left, top, right - left, bottom - top, _png(_beside(fine)))
    svg.image(left, top, right - left, bottom - top, _png(water_colours(fine)), clip_path=inside)
    draw_ground(svg, ground, view, filled=False)
    _draw_lines(svg, view, depth, bounds, ground.kinds["lawn"].buffer(-_RIM))
    _draw_windows(svg, plan, ground, view, board)
    _draw_heads(svg, plan, view, board)
    draw_names(svg, plan, ground, view, board, kinds=("lawn", "building"))
    _fill_column(Column(svg, view), plan, view)
    return svg.render()


def _fine(depth: Floats, bounds: Extent, view: View) -> Floats:
    """The depth with cells so small on paper that they are not seen, by linear interpolation."""
    cell = (bounds[2] - bounds[0]) / depth.shape[1] * view.millimetres
    times = min(_MOST_FINER, math.ceil(cell / _FINE_CELL))
    return np.asarray(zoom(depth, times, order=1, mode="nearest", grid_mode=True), dtype=float)


def _beside(depth: Floats) -> Floats:
    """Colours of water beside the lawns: one pale hue, the clearer the more water."""
    colours = np.empty((*depth.shape, 4))
    colours[...] = to_rgba(BESIDE)
    colours[..., 3] = 0.75 * np.clip(depth, 0, 1)
    return colours


def _png(colours: Floats) -> str:
    """Colours (ny, nx, 4), first row lowest, as a PNG at a data address."""
    out = io.BytesIO()
    imsave(out, colours[::-1], format="png")
    return "data:image/png;base64," + base64.b64encode(out.getvalue()).decode()


def _centres(depth: Floats, bounds: Extent) -> tuple[Floats, Floats]:
    ny, nx = depth.shape
    xs = bounds[0] + (np.arange(nx) + 0.5) * (bounds[2] - bounds[0]) / nx
    ys = bounds[1] + (np.arange(ny) + 0.5) * (bounds[3] - bounds[1]) / ny
    return xs, ys


def _draw_lines(svg: Svg, view: View, depth: Floats, bounds: Extent, within: BaseGeometry) -> None:
    svg.layer("lines")
    xs, ys = _centres(depth, bounds)
    for level, dash in ((DRY, "1.2 0.7"), (WET, "none")):
        for part in lines_at(level, xs, ys, depth, within=within):
            points = [view.xy(x, y) for x, y in part.coords]
            svg.line(points, stroke="#ffffff", stroke_width=0.5, stroke_opacity=0.8)
            svg.line(points, stroke=INK, stroke_width=0.2, stroke_dasharray=dash)


def _draw_windows(svg: Svg, plan: Plan, ground: Ground, view: View, board: LabelBoard) -> None:
    """Mark the driest window of each lawn with its share of the mean."""
    svg.layer("driest")
    for lawn in plan.lawns:
        d = polygon_path(_window(ground.lawns[lawn.id], lawn.evenness.driest), view.xy)
        svg.path(d, fill="none", stroke=INK, stroke_width=0.35)
        x, y = view.xy(*lawn.evenness.driest)
        words = f"{100 / lawn.evenness.scheduling:.0f} %"
        spot = board.claim(x, y, words, TEXT, bold=True) or board.place(x, y, [words], TEXT, bold=True)
        if spot:
            svg.text(*spot, words, TEXT, fill=INK, halo=True, font_weight="bold")


def _window(lawn: BaseGeometry, centre: tuple[float, float]) -> BaseGeometry:
    """The square round a point that is just large enough to hold the window's share of the lawn, cut to the lawn."""

    def cut(half: float) -> BaseGeometry:
        x, y = centre
        return lawn.intersection(shapely.box(x - half, y - half, x + half, y + half))

    reach = math.hypot(lawn.bounds[2] - lawn.bounds[0], lawn.bounds[3] - lawn.bounds[1]) + 1.0
    return cut(brentq(lambda half: cut(half).area - _DRY_WINDOW * lawn.area, 0.0, reach, xtol=0.01))


def _draw_heads(svg: Svg, plan: Plan, view: View, board: LabelBoard) -> None:
    svg.layer("heads")
    points = {head.id: view.xy(*head.at) for head in plan.heads}
    board.block((x - 0.7, y - 0.7, x + 0.7, y + 0.7) for x, y in points.values())
    for name, (x, y) in points.items():
        svg.circle(x, y, 0.55, fill=INK, stroke="#ffffff", stroke_width=0.2)
        spot = board.place(x, y, [name], SMALL)
        if spot:
            svg.text(*spot, name, SMALL, fill=INK, halo=True)


def _fill_column(column: Column, plan: Plan, view: View) -> None:
    svg = column.svg
    column.title(plan, view, "Depth of water")
    column.heading("Depth as a share of the lawn's mean")
    _colour_scale(column)
    dashed = column.entry(f"{100 * DRY:.0f} % of the mean: drier inside")
    solid = column.entry(f"{100 * WET:.0f} % of the mean: wetter inside")
    for (x, y), dash in ((dashed, "1.2 0.7"), (solid, "none")):
        svg.line([(x - 3.2, y), (x + 4.2, y)], stroke=INK, stroke_width=0.16, stroke_dasharray=dash)
    x, y = column.entry(f"driest {100 * _DRY_WINDOW:.0f} % of a lawn in one piece, with its share of the mean")
    svg.rect(x - 1.7, y - 1.7, 3.4, 3.4, fill="none", stroke=INK, stroke_width=0.35)
    svg.circle(*column.entry("head"), 0.55, fill=INK)
    x, y = column.entry("water beside the lawns, darker where it is more")
    svg.rect(x - 3.2, y - 1.4, 6.4, 2.8, fill=BESIDE, fill_opacity=0.5)
    column.heading("Lawns")
    column.row("", ("DU", "CU", "driest"), indent=0)
    most = column.lines_left(kept=16)
    lawns = plan.lawns if len(plan.lawns) <= most else plan.lawns[: max(0, most - 1)]
    for lawn in lawns:
        e = lawn.evenness
        column.row(lawn.id, [f"{100 * share:.0f} %" for share in (e.du, e.cu, 1 / e.scheduling)], indent=0)
    if len(lawns) < len(plan.lawns):
        column.paragraph(f"and {len(plan.lawns) - len(lawns)} more lawns: see the report")
    column.y += 1.5
    column.paragraph(
        "DU: evenness of the driest quarter. CU: Christiansen's evenness. All zones of a lawn run equally long."
    )
    draw_furniture(column, plan, view, cautions=False)


def _colour_scale(column: Column) -> None:
    """A bar of the colours with figures under it."""
    svg, cells = column.svg, 40
    left, wide = column.x + 5, column.wide - 10
    span = WETTEST - DRIEST
    colours = water_colours(DRIEST + span * (np.arange(cells) + 0.5) / cells)
    top = column.y - 2.4
    for number, colour in enumerate(colours):
        x = left + wide * number / cells
        svg.rect(x, top, wide / cells + 0.05, 4.6, fill=to_hex(colour))
    svg.rect(left, top, wide, 4.6, fill="none", stroke=INK, stroke_width=0.2)
    for depth, words in ((DRIEST, "dry"), (DRY, ""), (1.0, ""), (WET, ""), (WETTEST, "wet")):
        x = left + wide * (depth - DRIEST) / span
        svg.line([(x, top + 4.6), (x, top + 5.6)], stroke=INK, stroke_width=0.2)
        svg.text(x, top + 8.4, words or f"{100 * depth:.0f} %", SMALL, fill=INK, text_anchor="middle")
    column.y = top + 13
