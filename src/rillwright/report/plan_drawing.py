"""The plan sheet, true to scale: ground, contours, heads with their arcs, pipes with sizes, valve places."""

from shapely.geometry import LineString

from rillwright.model.ground import Ground
from rillwright.model.plan import Plan
from rillwright.model.site import AreaKind
from rillwright.report.column import Column, draw_furniture
from rillwright.report.existing_drawn import draw_existing
from rillwright.report.ground_drawn import contour_step, draw_contours, draw_ground, draw_names, draw_trees
from rillwright.report.heads_drawn import block_heads, draw_heads, draw_throws
from rillwright.report.labels import LabelBoard
from rillwright.report.legend import plan_column
from rillwright.report.pipes_drawn import draw_pipe_sizes, draw_pipes, draw_sleeves, paths_on_paper
from rillwright.report.places_drawn import draw_places
from rillwright.report.scale import fit_view
from rillwright.report.svg import Svg

__all__ = ["SMALL_SHEET_ZONES", "draw_plan"]

SMALL_SHEET_ZONES = 8  # more need the column of the large sheet
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
    draw_throws(svg, plan, view)
    draw_existing(svg, plan, view)
    draw_sleeves(svg, plan, view)
    draw_pipes(svg, plan, paths)
    block_heads(plan, view, board)
    board.avoid({name: LineString(path) for name, path in paths.items()})
    draw_places(svg, plan, view, board)
    draw_heads(svg, plan, view, board)
    draw_names(svg, plan, ground, view, board, kinds=_NAMED)
    draw_pipe_sizes(svg, plan, paths, board)
    if step:
        draw_contours(svg, plan, ground, view, board, step=step)
    column = Column(svg, view)
    column.title(plan, view, "Plan")
    plan_column(column, plan, contour_step=step)
    draw_furniture(column, plan, view, cautions=True)
    return svg.render()
