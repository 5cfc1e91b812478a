"""The plan sheet, true to scale: ground, contours, heads with their arcs, pipes with sizes, valve places."""

from collections.abc import Mapping, Sequence

from shapely.affinity import rotate, translate
from shapely.geometry import LineString, Polygon, box

from rillwright.model.ground import Ground
from rillwright.model.parts import strip_reach
from rillwright.model.plan import Head, NozzleUsed, Plan, ValvePlace
from rillwright.model.site import AreaKind
from rillwright.report.column import Column, draw_furniture
from rillwright.report.existing_drawn import draw_existing
from rillwright.report.ground_drawn import contour_step, draw_contours, draw_ground, draw_names, draw_trees
from rillwright.report.labels import NEAR, LabelBoard
from rillwright.report.legend import plan_column
from rillwright.report.marks import HEAD_HALF, MARK_HALF, controller_mark, entry_mark, head_mark, place_mark
from rillwright.report.palette import INK, MAIN, SOFT, zone_colour
from rillwright.report.pipes_drawn import draw_pipe_sizes, draw_pipes, draw_sleeves, paths_on_paper
from rillwright.report.scale import View, fit_view
from rillwright.report.svg import Svg, polygon_path, sector_path
from rillwright.report.text import SMALL, TEXT, text_width, wrap

__all__ = ["SMALL_SHEET_ZONES", "draw_plan", "strip_outline"]

Point = tuple[float, float]

SMALL_SHEET_ZONES = 8  # more need the column of the large sheet
_PLACE_LABEL = 34.0  # [mm] widest label of a valve place
_NAMED: tuple[AreaKind, ...] = ("lawn", "building", "water", "paving", "bed", "keep-out")


def draw_plan(plan: Plan, ground: Ground) -> str:
    """Draw the plan on one sheet and return SVG text."""
    view = fit_view(ground.extent, system=plan.yard.units, small=len(plan.zones) <= SMALL_SHEET_ZONES)
    svg = Svg(view.sheet.width, view.sheet.height, name="plan", title=f"{plan.yard.name}: plan {view.name}")
    svg.rect(0, 0, view.sheet.width, view.sheet.height, fill="#ffffff")
    for layer in ("ground", "contours", "trees", "throws", "existing", "sleeves", "pipes", "marks", "heads"):
        svg.layer(layer)
    board = LabelBoard(view.sheet.field)
    step = contour_step(plan, ground)
    paths = paths_on_paper(plan, view)
    draw_ground(svg, ground, view)
    draw_trees(svg, plan, ground, view)
    _draw_throws(svg, plan, view)
    draw_existing(svg, plan, view)
    draw_sleeves(svg, plan, view)
    draw_pipes(svg, plan, paths)
    board.block(_square(view.xy(*head.at), HEAD_HALF) for head in plan.heads)
    board.avoid({name: LineString(path) for name, path in paths.items()})
    _draw_places(svg, plan, view, board)
    _draw_heads(svg, plan, view, board)
    draw_names(svg, plan, ground, view, board, kinds=_NAMED)
    draw_pipe_sizes(svg, plan, paths, board)
    if step:
        draw_contours(svg, plan, ground, view, board, step=step)
    column = Column(svg, view)
    column.title(plan, view, "Plan")
    plan_column(column, plan, contour_step=step)
    draw_furniture(column, plan, view, cautions=True)
    return svg.render()


def _square(at: Point, half: float) -> tuple[float, float, float, float]:
    return (at[0] - half, at[1] - half, at[0] + half, at[1] + half)


def _zone_index(plan: Plan) -> Mapping[str, int]:
    return {head: index for index, zone in enumerate(plan.zones) for head in zone.heads}


def _draw_throws(svg: Svg, plan: Plan, view: View) -> None:
    svg.layer("throws")
    index = _zone_index(plan)
    nozzles = {nozzle.id: nozzle for nozzle in plan.nozzles}
    for head in plan.heads:
        colour = zone_colour(index[head.id]) if head.id in index else SOFT
        if head.arc > 0:
            d = sector_path(*view.xy(*head.at), head.radius * view.millimetres, head.arc_start, head.arc)
        else:
            d = polygon_path(strip_outline(head, nozzles[head.nozzle]), view)
        svg.path(d, fill=colour, fill_opacity=0.06, stroke=colour, stroke_width=0.16, stroke_opacity=0.65)


def strip_outline(head: Head, nozzle: NozzleUsed) -> Polygon:
    """The rectangle on the ground that a strip pattern waters."""
    behind, ahead, right, left = strip_reach(nozzle.pattern, length=head.radius, width=nozzle.width)
    (x, y), turned = head.at, rotate(box(-behind, -right, ahead, left), head.arc_start, origin=(0, 0))
    return translate(turned, x, y)


def _draw_heads(svg: Svg, plan: Plan, view: View, board: LabelBoard) -> None:
    svg.layer("heads")
    index = _zone_index(plan)
    for head in plan.heads:
        x, y = view.xy(*head.at)
        head_mark(svg, head, x, y, zone_colour(index[head.id]) if head.id in index else SOFT)
        _label(svg, board, (x, y), [head.id], SMALL)


def _draw_places(svg: Svg, plan: Plan, view: View, board: LabelBoard) -> None:
    """Draw entry, controller and valve places; a mark that would cover another stands aside on a leader."""
    svg.layer("marks")
    controller = plan.yard.controller.at
    entry_mark(svg, *_stand(svg, board, view.xy(*plan.yard.water_entry.at)))
    if controller:
        controller_mark(svg, *_stand(svg, board, view.xy(*controller)))
    spots = [(place, _stand(svg, board, view.xy(*place.at))) for place in plan.places]
    for place, spot in spots:
        place_mark(svg, *spot)
        lines = wrap(f"{place.id}: {_zones_named(place, plan)}", TEXT, _PLACE_LABEL, bold=True)
        _label(svg, board, spot, lines, TEXT, bold=True)


def _stand(svg: Svg, board: LabelBoard, at: Point) -> Point:
    spot = board.claim_mark(*at, MARK_HALF)
    if spot != at:
        svg.line([at, spot], stroke=MAIN, stroke_width=0.25)
        svg.circle(*at, 0.45, fill=MAIN)
    return spot


def _label(svg: Svg, board: LabelBoard, at: Point, lines: Sequence[str], size: float, *, bold: bool = False) -> None:
    """Print a label near a point, with a leader when only a far place is free."""
    spot = board.place(*at, lines, size, bold=bold)
    if spot is None:
        return
    wide = max(text_width(line, size, bold=bold) for line in lines)
    left, low = spot[0], spot[1] - 0.35 * size
    near = (min(max(at[0], left), left + wide), min(max(at[1], low - 0.4 * size), low + 0.4 * size))
    if ((near[0] - at[0]) ** 2 + (near[1] - at[1]) ** 2) ** 0.5 > NEAR[-1] + 0.6:
        svg.line([at, near], stroke=SOFT, stroke_width=0.18)
    weight: dict[str, str | float] = {"font_weight": "bold"} if bold else {}
    for number, line in enumerate(lines):
        svg.text(left, spot[1] + 1.2 * size * number, line, size, halo=True, fill=MAIN if bold else INK, **weight)


def _zones_named(place: ValvePlace, plan: Plan) -> str:
    """The zones of a place, runs of neighbours put together: 'Z1 to Z5, Z8'."""
    order = [zone.id for zone in plan.zones]
    runs: list[list[int]] = []
    for index in sorted(order.index(zone) for zone in place.zones):
        if runs and index == runs[-1][-1] + 1:
            runs[-1].append(index)
        else:
            runs.append([index])
    short = [
        [f"{order[run[0]]} to {order[run[-1]]}"] if len(run) > 2 else [order[index] for index in run] for run in runs
    ]
    return ", ".join(name for names in short for name in names)
