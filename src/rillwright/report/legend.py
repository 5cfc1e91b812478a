"""The right-hand column of a drawing: title, legend, zones, north, scale bar, cautions."""

import math
import textwrap

from rillwright.model.plan import Plan
from rillwright.physics.units import FOOT, show
from rillwright.report.marks import head_mark
from rillwright.report.palette import GROUND, INK, MAIN, zone_colour, zone_dash
from rillwright.report.scale import View
from rillwright.report.svg import Svg
from rillwright.report.text import text_width

__all__ = ["CAUTIONS", "draw_column"]

CAUTIONS = (
    "Have buried services located and marked before digging: call the utility-location service first.",
    "Backflow protection keeps the drinking water clean: kind, height and testing are set by local code.",
    "Joining the house supply, line voltage and torch work belong to licensed trades where the law says so.",
)

_TEXT = 2.6  # [mm]
_STEP = 4.2  # [mm]
_GROUND_NAMES = {
    "lawn": "lawn",
    "bed": "bed",
    "paving": "paving",
    "building": "building",
    "water": "water",
    "keep-out": "keep out",
}
_CLASS_ORDER = ("spray", "rotary", "small rotor", "mid rotor", "strip")


def draw_column(svg: Svg, plan: Plan, view: View, *, with_depth: bool) -> None:
    """Draw the column at the right of the sheet."""
    svg.layer("column")
    sheet = view.sheet
    left = sheet.width - sheet.margin - sheet.column + 6
    wide = sheet.column - 6
    svg.line([(left - 4, sheet.margin), (left - 4, sheet.height - sheet.margin)], stroke="#9aa0a6", stroke_width=0.2)
    y = _title(svg, plan, view, left, sheet.margin + 5, wide, with_depth=with_depth)
    y = _zones(svg, plan, left, y + 3, wide)
    y = _marks(svg, plan, left, y + 3)
    _cautions(svg, left, sheet.height - sheet.margin - 44, wide)
    _scale_bar(svg, plan, view, left, sheet.height - sheet.margin - 6)
    _north(svg, plan, left + wide - 10, sheet.height - sheet.margin - 10)


def _title(svg: Svg, plan: Plan, view: View, x: float, y: float, wide: float, *, with_depth: bool) -> float:
    for line in _wrap(plan.yard.name, 4.4, wide):
        svg.text(x, y, line, 4.4, fill=INK, font_weight="bold")
        y += 5.4
    kind = "Depth of water" if with_depth else "Plan"
    svg.text(x, y, f"{kind}, scale {view.name} on {view.sheet.name}", 3.0, fill=INK)
    y += 5.0
    for line in _wrap(f"{plan.verdict.capitalize()}. {plan.headline}", _TEXT, wide):
        svg.text(x, y, line, _TEXT, fill=INK)
        y += 3.7
    return y


def _zones(svg: Svg, plan: Plan, x: float, y: float, wide: float) -> float:
    system = plan.yard.units
    if not plan.zones:
        return y
    svg.text(x, y, "Zones: heads, flow, precipitation", 3.0, fill=INK, font_weight="bold")
    y += _STEP + 0.4
    step = min(_STEP, 92.0 / len(plan.zones))
    for index, zone in enumerate(plan.zones):
        svg.line(
            [(x, y - 0.9), (x + 7, y - 0.9)],
            stroke=zone_colour(index),
            stroke_width=1.0,
            stroke_dasharray=zone_dash(index),
        )
        words = f"{zone.id}  {len(zone.heads)} {zone.head_class}"
        svg.text(x + 9, y, words, _TEXT, fill=INK)
        figures = f"{show(zone.flow, 'flow', system)}, {show(zone.precipitation, 'rate', system)}"
        svg.text(x + wide, y, figures, _TEXT, fill=INK, text_anchor="end")
        y += step
    return y


def _marks(svg: Svg, plan: Plan, x: float, y: float) -> float:
    svg.text(x, y, "Legend", 3.0, fill=INK, font_weight="bold")
    y += _STEP + 0.4
    shown: dict[str, int] = {}
    for head in plan.heads:
        shown.setdefault(head.head_class, len(shown))
    example = {head.head_class: head for head in plan.heads}
    column = 0
    for head_class in _CLASS_ORDER:
        if head_class in example:
            head_mark(svg, example[head_class], x + 3, y - 0.9, MAIN)
            svg.text(x + 9, y, f"head: {head_class}", _TEXT, fill=INK)
            y += _STEP
    svg.rect(x + 1.6, y - 2.3, 2.8, 2.8, fill="#ffffff", stroke=MAIN, stroke_width=0.6)
    svg.text(x + 9, y, "valve place and its zones", _TEXT, fill=INK)
    y += _STEP
    svg.circle(x + 3, y - 0.9, 1.5, fill=MAIN)
    svg.text(x + 9, y, "W water entry, C controller", _TEXT, fill=INK)
    y += _STEP
    svg.line([(x, y - 0.9), (x + 7, y - 0.9)], stroke=MAIN, stroke_width=0.9)
    svg.text(x + 9, y, "main, with size; thin coloured lines: laterals", _TEXT, fill=INK)
    y += _STEP
    svg.line([(x, y - 0.9), (x + 7, y - 0.9)], stroke="#b9a36b", stroke_width=2.4)
    svg.text(x + 9, y, "sleeve under paving", _TEXT, fill=INK)
    y += _STEP
    for kind in ("lawn", "bed", "paving", "building", "water", "keep-out"):
        if any(area.kind == kind for area in plan.yard.areas):
            left = x + column * 30
            svg.rect(left, y - 2.3, 6, 2.8, fill=GROUND[kind], stroke="#9aa39a", stroke_width=0.2)
            svg.text(left + 7.5, y, _GROUND_NAMES[kind], _TEXT, fill=INK)
            column += 1
            if column == 3:
                column, y = 0, y + _STEP
    return y + _STEP


def _cautions(svg: Svg, x: float, y: float, wide: float) -> None:
    for caution in CAUTIONS:
        for line in _wrap(caution, 2.4, wide):
            svg.text(x, y, line, 2.4, fill="#a3330b")
            y += 3.2
        y += 0.8


def _scale_bar(svg: Svg, plan: Plan, view: View, x: float, y: float) -> None:
    unit, name = (FOOT, "ft") if plan.yard.units == "US" else (1.0, "m")
    step = next((s for s in (1, 2, 5, 10, 20, 50, 100, 200) if 4 * s * unit * view.millimetres >= 38), 500)
    wide = step * unit * view.millimetres
    for i in range(4):
        svg.rect(x + i * wide, y, wide, 1.4, fill=INK if i % 2 == 0 else "#ffffff", stroke=INK, stroke_width=0.2)
    for i in (0, 2, 4):
        svg.text(x + i * wide, y - 1, f"{i * step}", 2.4, fill=INK, text_anchor="middle" if i else "start")
    svg.text(x + 4 * wide + 2.5, y + 1.4, name, 2.4, fill=INK)


def _north(svg: Svg, plan: Plan, x: float, y: float) -> None:
    angle = math.radians(plan.yard.north)
    reach = 7.5
    tip = (x + reach * math.cos(angle), y - reach * math.sin(angle))
    tail = (x - reach * math.cos(angle), y + reach * math.sin(angle))
    side = (-math.sin(angle) * 2, -math.cos(angle) * 2)
    svg.polygon([tip, (x + side[0], y + side[1]), (x - side[0], y - side[1])], fill=INK)
    svg.line([tail, (x, y)], stroke=INK, stroke_width=0.4)
    label = (x + (reach + 2.8) * math.cos(angle), y - (reach + 2.8) * math.sin(angle))
    svg.text(label[0], label[1] + 1.1, "N", 3.0, fill=INK, text_anchor="middle", font_weight="bold")


def _wrap(words: str, size: float, wide: float) -> list[str]:
    """Break words into lines no wider than a measure."""
    per_letter = text_width("abcdefghijklmnopqrstuvwxyz ", size) / 27
    limit = max(8, int(wide / per_letter))
    lines = textwrap.wrap(words, limit)
    while any(text_width(line, size) > wide for line in lines) and limit > 8:
        limit -= 1
        lines = textwrap.wrap(words, limit)
    return lines
