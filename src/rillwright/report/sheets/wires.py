"""The control wire: where its strands run beside the main, and which voltage reaches each valve."""

from shapely.geometry import LineString

from rillwright.model.plan import Plan
from rillwright.model.wire import WirePlan, WireRun
from rillwright.report.column import Column
from rillwright.report.ground_drawn import draw_ground, draw_names, draw_trees
from rillwright.report.legend import key_line, mark_legend
from rillwright.report.palette import CAUTION, INK, MAIN
from rillwright.report.places_drawn import draw_places
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.flow import Cell, Flow
from rillwright.report.sheets.map_page import MapPage, map_pages
from rillwright.report.text import SMALL
from rillwright.report.wire_list import WIRE_CAUTIONS, Rows, wire_rows, wire_told

__all__ = ["wire_sheets"]

Point = tuple[float, float]

_DASH = "3 0.8 0.8 0.8 0.8 0.8"
_ASIDE = 2.6  # [mm] from a run to its words


def wire_sheets(book: Book) -> None:
    """The runs on the ground with their strands, then runs and circuits as tables."""
    plan, wire = book.told.plan, book.told.plan.wire
    if wire is None:
        return
    ground = book.told.ground
    about = [_path(run, plan) for run in wire.runs]
    for page in map_pages(book, "Control wire", ("ground", "trees", "wires"), about=about):
        svg, view, board = page.svg, page.tile.view, page.board
        draw_ground(svg, ground, view, filled=False)
        draw_trees(svg, plan, ground, view)
        _draw_runs(page, plan, wire)
        draw_places(svg, plan, view, board)
        draw_names(svg, plan, ground, view, board, kinds=("building",))
        _legend(page.legend(), plan, wire)
    flow = Flow(book, "Schedule of wire")
    for words in WIRE_CAUTIONS:
        flow.paragraph(words, fill=CAUTION)
    runs, circuits = wire_rows(wire, plan.yard.units)
    _table(flow, "Runs, from the controller on", runs)
    _table(flow, "Circuits of the zones", circuits)


def _table(flow: Flow, title: str, rows: Rows) -> None:
    flow.heading(title)
    last = len(rows[0]) - 1
    flow.table([Cell(name, right=1 < n < last) for n, name in enumerate(rows[0])], rows[1:])


def _draw_runs(page: MapPage, plan: Plan, wire: WirePlan) -> None:
    """Each run with the number of its strands beside it; from the controller to the main, dotted."""
    view, board = page.tile.view, page.board
    paths = {f"{run.start} {run.end}": [view.xy(*at) for at in _path(run, plan)] for run in wire.runs}
    seen = page.inside(paths)
    for run in wire.runs:
        name = f"{run.start} {run.end}"
        page.svg.layer("wires")
        dash = _DASH if run.start != "controller" else "0.6 0.9"
        wide = 0.3 + 0.05 * min(run.strands, 12)
        page.svg.line(paths[name], stroke=MAIN, stroke_width=wide, stroke_dasharray=dash)
        if name not in seen:
            continue
        middle = LineString(seen[name]).interpolate(0.5, normalized=True)
        spot = board.place(middle.x + _ASIDE, middle.y, [f"{run.strands} strands"], SMALL)
        if spot:
            page.svg.layer("strands")
            page.svg.text(*spot, f"{run.strands} strands", SMALL, halo=True, fill=INK)


def _path(run: WireRun, plan: Plan) -> list[Point]:
    """The way of a run on the ground [m]: along its pipe, or straight from the controller to the entry."""
    pipe = next((p for p in plan.pipes if p.role == "main" and {p.start, p.end} == {run.start, run.end}), None)
    if pipe is not None:
        return list(pipe.path)
    return [plan.yard.controller.at or plan.yard.water_entry.at, plan.yard.water_entry.at]


def _legend(column: Column, plan: Plan, wire: WirePlan) -> None:
    column.heading("Wire")
    for name, value in wire_told(wire, plan.yard.units):
        column.paragraph(f"{name}: {value}")
    column.heading("Legend")
    key_line(column.svg, *column.entry("strands beside the main, in its trench"), MAIN, 0.6, _DASH)
    if plan.yard.controller.at:
        key_line(column.svg, *column.entry("strands from the controller to the main"), MAIN, 0.6, "0.6 0.9")
    mark_legend(column, plan)
    column.y += 2
    column.paragraph(WIRE_CAUTIONS[0], fill=CAUTION)
