"""Heads on a drawing: where they throw, their marks, and their names."""

from collections.abc import Mapping

from rillwright.model.plan import Plan
from rillwright.model.throws import strip_outline
from rillwright.report.labels import LabelBoard
from rillwright.report.marks import HEAD_HALF, head_mark
from rillwright.report.palette import SOFT, zone_colour
from rillwright.report.places_drawn import draw_label
from rillwright.report.scale import View
from rillwright.report.svg import Svg, polygon_path, sector_path
from rillwright.report.text import SMALL

__all__ = ["block_heads", "draw_heads", "draw_throws"]


def block_heads(plan: Plan, view: View, board: LabelBoard) -> None:
    """Keep labels off the marks of heads."""
    places = (view.xy(*head.at) for head in plan.heads)
    board.block((x - HEAD_HALF, y - HEAD_HALF, x + HEAD_HALF, y + HEAD_HALF) for x, y in places)


def draw_throws(svg: Svg, plan: Plan, view: View) -> None:
    """Draw what each head wets, in its zone's colour."""
    svg.layer("throws")
    index = _zone_index(plan)
    nozzles = {nozzle.id: nozzle for nozzle in plan.nozzles}
    for head in plan.heads:
        colour = zone_colour(index[head.id]) if head.id in index else SOFT
        if head.arc > 0:
            d = sector_path(*view.xy(*head.at), head.radius * view.millimetres, head.arc_start, head.arc)
        else:
            d = polygon_path(strip_outline(head, nozzles[head.nozzle]), view.xy)
        svg.path(d, fill=colour, fill_opacity=0.06, stroke=colour, stroke_width=0.16, stroke_opacity=0.65)


def draw_heads(svg: Svg, plan: Plan, view: View, board: LabelBoard) -> list[str]:
    """Draw the marks of heads in the board's field with their names; give the names that had no room."""
    svg.layer("heads")
    unnamed: list[str] = []
    index = _zone_index(plan)
    for head in plan.heads:
        x, y = view.xy(*head.at)
        if not board.holds((x, y)):
            continue
        head_mark(svg, head, x, y, zone_colour(index[head.id]) if head.id in index else SOFT)
        if not draw_label(svg, board, (x, y), [head.id], SMALL):
            unnamed.append(head.id)
    return unnamed


def _zone_index(plan: Plan) -> Mapping[str, int]:
    return {head: index for index, zone in enumerate(plan.zones) for head in zone.heads}
