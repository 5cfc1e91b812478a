"""The as-built sheet, true to scale: where pipes and parts really lie, and the tapes by which they are found again."""

from shapely.geometry import LineString

from rillwright.model.as_built import AsBuilt, BuiltMark
from rillwright.model.ground import Ground
from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.column import Column, draw_furniture
from rillwright.report.ground_drawn import draw_ground, draw_names, draw_trees
from rillwright.report.labels import LabelBoard
from rillwright.report.marks import MARK_HALF, controller_mark, entry_mark
from rillwright.report.palette import CAUTION, INK, MAIN, SOFT, zone_colour
from rillwright.report.places_drawn import draw_corners
from rillwright.report.scale import View, fit_view
from rillwright.report.svg import Svg
from rillwright.report.text import SMALL, TEXT, text_width

__all__ = ["draw_as_built"]

_CAUTIONS = 36.0  # [mm] that the cautions take over the column's foot
_CORNER_HALF = 1.7  # [mm]
_LONG = 12.0  # [mm] a pipe must have on paper to carry its depth


def draw_as_built(record: AsBuilt, plan: Plan, ground: Ground) -> str:
    """Draw the record on one sheet and return SVG text."""
    view = fit_view(ground.extent, system=plan.yard.units, small=len(record.marks) <= 12)
    svg = Svg(view.sheet.width, view.sheet.height, name="built", title=f"{plan.yard.name}: as built {view.name}")
    svg.rect(0, 0, view.sheet.width, view.sheet.height, fill="#ffffff")
    for layer in ("ground", "trees", "pipes", "tapes", "corners", "marks", "depths"):
        svg.layer(layer)
    board = LabelBoard(view.sheet.field)
    draw_ground(svg, ground, view)
    draw_trees(svg, plan, ground, view)
    _draw_pipes(svg, record, plan, view)
    board.avoid(
        {pipe.id: LineString([view.xy(*at) for at in pipe.line]) for pipe in record.pipes if len(pipe.line) > 1}
    )
    _draw_fixed(svg, record, plan, view, board)
    _draw_marks(svg, record, view, board)
    _draw_depths(svg, record, plan, view, board)
    draw_names(svg, plan, ground, view, board, kinds=("building", "lawn", "paving", "bed", "water", "keep-out"))
    column = Column(svg, view)
    column.title(plan, view, "As built")
    _fill_column(column, record, plan)
    draw_furniture(column, plan, view, cautions=True)
    return svg.render()


def _draw_pipes(svg: Svg, record: AsBuilt, plan: Plan, view: View) -> None:
    """Pipes of the log in full lines, by zone; those that nobody wrote down thin and dashed, as the plan has them."""
    svg.layer("pipes")
    zones = [zone.id for zone in plan.zones]
    zone_of = {pipe.id: pipe.zone for pipe in plan.pipes}
    for pipe in record.pipes:
        zone = zone_of.get(pipe.id)
        colour = zone_colour(zones.index(zone)) if zone in zones else MAIN
        line = [view.xy(*at) for at in pipe.line]
        if pipe.logged:
            svg.line(line, stroke=colour, stroke_width=0.7 if zone else 1.1)
        else:
            svg.line(line, stroke=SOFT, stroke_width=0.25, stroke_dasharray="1.2 1")


def _draw_fixed(svg: Svg, record: AsBuilt, plan: Plan, view: View, board: LabelBoard) -> None:
    """Water entry, controller, and the corners that tapes are held to."""
    svg.layer("corners")
    for draw, at in ((entry_mark, plan.yard.water_entry.at), (controller_mark, plan.yard.controller.at)):
        if at is not None:
            draw(svg, *board.claim_mark(*view.xy(*at), MARK_HALF))
    draw_corners(svg, record.corners, view, board)


def _draw_marks(svg: Svg, record: AsBuilt, view: View, board: LabelBoard) -> None:
    """Marks with their numbers, aside on a leader where several lie on one spot; tapes from their corners."""
    corners = {corner.letter: corner.at for corner in record.corners}
    for mark in record.marks:
        true = view.xy(*mark.at)
        svg.layer("tapes")
        for offset in mark.offsets:
            svg.line([view.xy(*corners[offset.corner]), true], stroke=CAUTION, stroke_width=0.14, stroke_opacity=0.7)
        svg.layer("marks")
        spot = board.claim_mark(*true, MARK_HALF)
        if spot != true:
            svg.line([true, spot], stroke=INK, stroke_width=0.18)
            svg.circle(*true, 0.35, fill=INK)
        _mark(svg, mark, *spot)


def _mark(svg: Svg, mark: BuiltMark, x: float, y: float) -> None:
    """A numbered circle: filled when it was measured, empty when it only stands in the plan."""
    svg.circle(x, y, _CORNER_HALF, fill=INK if mark.logged else "#ffffff", stroke=INK, stroke_width=0.25)
    fill = "#ffffff" if mark.logged else INK
    svg.text(x, y + 0.9, str(mark.number), SMALL, fill=fill, text_anchor="middle", font_weight="bold")


def _draw_depths(svg: Svg, record: AsBuilt, plan: Plan, view: View, board: LabelBoard) -> None:
    """Depth of each pipe of the log that has room for it."""
    svg.layer("depths")
    for pipe in sorted(record.pipes, key=lambda pipe: -LineString(pipe.line).length if len(pipe.line) > 1 else 0.0):
        line = LineString([view.xy(*at) for at in pipe.line])
        if pipe.depth is None or line.length < _LONG:
            continue
        words = show(pipe.depth, "depth", plan.yard.units)
        for share in (0.5, 0.3, 0.7):
            at = line.interpolate(share, normalized=True)
            spot = board.claim(at.x, at.y, words, SMALL, own=pipe.id)
            if spot:
                svg.text(*spot, words, SMALL, halo=True, fill=INK)
                break


def _fill_column(column: Column, record: AsBuilt, plan: Plan) -> None:
    column.heading("Buried parts, by tape from corners")
    lines = column.lines_left(kept=_CAUTIONS + 46)
    shown = record.marks if len(record.marks) <= lines else record.marks[: max(lines - 1, 0)]
    for mark in shown:
        x, y = column.entry(_short(mark, plan, column))
        _mark(column.svg, mark, x, y)
    if len(shown) < len(record.marks):
        column.paragraph(f"and {len(record.marks) - len(shown)} more: see the table")
    column.heading("Legend")
    keys: tuple[tuple[str, dict[str, str | float]], ...] = (
        ("pipe as it lies, with its depth", {"stroke": MAIN, "stroke_width": 0.9}),
        (
            "pipe as planned: nobody wrote down where it lies",
            {"stroke": SOFT, "stroke_width": 0.25, "stroke_dasharray": "1.2 1"},
        ),
        ("tape from a corner (A, B ...), held level", {"stroke": CAUTION, "stroke_width": 0.2}),
    )
    for words, style in keys:
        x, y = column.entry(words)
        column.svg.line([(x - 3.2, y), (x + 4.2, y)], **style)
    column.paragraph("Empty numbers stand where the plan has them: measure before digging.", most=3)


def _short(mark: BuiltMark, plan: Plan, column: Column) -> str:
    """Name, the better of its two pairs of distances, and its depth where there is room for it."""
    system = plan.yard.units
    tapes = ", ".join(f"{o.corner} {show(o.distance, 'length', system)}" for o in mark.offsets) or "no two corners"
    if mark.by_wall is not None:
        along, off = (show(value, "length", system) for value in (mark.by_wall.along, mark.by_wall.off))
        tapes = f"{mark.by_wall.start} to {mark.by_wall.towards} {along}, {off} off"
    depth = "" if mark.depth is None else f", {show(mark.depth, 'depth', system)} deep"
    whole = f"{mark.what}: {tapes}{depth}"
    return whole if text_width(whole, TEXT) < column.wide - 9 else f"{mark.what}: {tapes}"
