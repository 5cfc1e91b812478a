"""Sheets that are drawn to scale: heads on the site, zones and pipes, trenches and what they cross."""

from collections.abc import Sequence

from shapely.geometry import LineString

from rillwright.model.plan import Plan, Trench
from rillwright.model.site import AreaKind
from rillwright.physics.units import show
from rillwright.report.column import CAUTIONS, STEP, Column
from rillwright.report.existing_drawn import draw_existing, existing_legend
from rillwright.report.ground_drawn import contour_step, draw_contours, draw_ground, draw_names, draw_trees
from rillwright.report.heads_drawn import block_heads, draw_heads, draw_throws
from rillwright.report.legend import (
    contour_legend,
    ground_legend,
    head_legend,
    key_line,
    mark_legend,
    pipe_legend,
    zone_rows,
)
from rillwright.report.palette import CAUTION, INK, MAIN, SLEEVE
from rillwright.report.pipes_drawn import draw_pipe_sizes, draw_pipes, draw_sleeves, paths_on_paper
from rillwright.report.places_drawn import draw_corners, draw_places
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.map_page import MapPage, map_pages
from rillwright.report.text import SMALL

__all__ = ["head_sheets", "pipe_sheets", "surfaces_of", "trench_sheets"]

_NAMED: tuple[AreaKind, ...] = ("lawn", "building", "water", "paving", "bed", "keep-out")
_LONG = 7.0  # [mm] a trench must have on paper to carry its name
_DASHES = ("none", "3 0.8", "1.2 0.8", "4 0.8 0.8 0.8", "0.5 0.7", "6 1 0.6 1 0.6 1")  # of trenches, by their surface


def head_sheets(book: Book) -> None:
    """The site with its heights, every head with its name and throw, and the corners that heads are taped from."""
    plan, ground = book.told.plan, book.told.ground
    step = contour_step(plan, ground)
    for page in map_pages(book, "Site and heads", ("ground", "contours", "trees", "throws", "existing")):
        svg, view, board = page.svg, page.tile.view, page.board
        draw_ground(svg, ground, view)
        draw_trees(svg, plan, ground, view)
        draw_throws(svg, plan, view)
        draw_existing(svg, plan, view)
        block_heads(plan, view, board)
        draw_places(svg, plan, view, board)
        unnamed = draw_heads(svg, plan, view, board)
        svg.layer("corners")
        draw_corners(svg, book.told.taped.corners, view, board)
        draw_names(svg, plan, ground, view, board, kinds=_NAMED)
        if step:
            draw_contours(svg, plan, ground, view, board, step=step)
        column = page.legend()
        column.heading("Legend")
        head_legend(column, plan)
        mark_legend(column, plan)
        existing_legend(column, plan)
        if step:
            contour_legend(column, plan, step)
        if book.told.taped.corners:
            x, y = column.entry("corner that tapes are held to; distances: schedule of heads")
            svg.circle(x - 1.5, y, 0.6, fill=CAUTION)
            svg.text(x, y + 0.9, "A", SMALL, fill=CAUTION, font_weight="bold")
        ground_legend(column, plan)
        _say_unnamed(column, unnamed)


def pipe_sheets(book: Book) -> None:
    """Every pipe with its size, in its zone's line; valve places with their zones."""
    plan, ground = book.told.plan, book.told.ground
    if not plan.pipes:
        return
    for page in map_pages(book, "Zones and pipes", ("ground", "trees", "existing", "sleeves", "pipes")):
        svg, view, board = page.svg, page.tile.view, page.board
        paths = paths_on_paper(plan, view)
        inside = page.inside(paths)
        draw_ground(svg, ground, view, filled=False)
        draw_trees(svg, plan, ground, view)
        draw_existing(svg, plan, view)
        draw_sleeves(svg, plan, view)
        draw_pipes(svg, plan, paths)
        block_heads(plan, view, board)
        board.avoid({name: LineString(path) for name, path in inside.items()})
        draw_places(svg, plan, view, board)
        unnamed = draw_heads(svg, plan, view, board)
        draw_pipe_sizes(svg, plan, inside, board)
        draw_names(svg, plan, ground, view, board, kinds=("building",))
        column = page.legend()
        own = {pipe.zone for pipe in plan.pipes if pipe.zone and pipe.id in inside}
        most = column.lines_left(kept=12 + STEP * _legend_lines(plan))
        zone_rows(column, plan, most=most, of=own, rest="the schedule of valves")
        column.heading("Legend")
        pipe_legend(column, plan)
        head_legend(column, plan, throws=False)
        mark_legend(column, plan)
        existing_legend(column, plan)
        _say_unnamed(column, unnamed)


def trench_sheets(book: Book) -> None:
    """Every trench in the line of its surface, its name and pipes; what crosses paving stands out and is listed."""
    plan, ground = book.told.plan, book.told.ground
    if not plan.trenches:
        return
    dashes = {surface: _DASHES[n % len(_DASHES)] for n, surface in enumerate(surfaces_of(plan))}
    for page in map_pages(book, "Trenches and crossings", ("ground", "trees", "sleeves", "trenches")):
        svg, view, board = page.svg, page.tile.view, page.board
        lines = {t.id: [view.xy(x, y) for x, y in t.path] for t in plan.trenches}
        draw_ground(svg, ground, view, filled=False)
        draw_trees(svg, plan, ground, view)
        draw_sleeves(svg, plan, view)
        svg.layer("trenches")
        for trench in plan.trenches:
            svg.line(lines[trench.id], stroke=MAIN, stroke_width=_wide(trench), stroke_dasharray=dashes[trench.surface])
        draw_places(svg, plan, view, board)
        _name_trenches(page, plan, page.inside(lines))
        draw_names(svg, plan, ground, view, board, kinds=_NAMED)
        _trench_column(page.legend(), plan, dashes)


def surfaces_of(plan: Plan) -> list[str]:
    """The kinds of ground that are dug, the longest trenches first."""
    length: dict[str, float] = {}
    for trench in plan.trenches:
        length[trench.surface] = length.get(trench.surface, 0.0) + trench.length
    return sorted(length, key=lambda surface: -length[surface])


def _wide(trench: Trench) -> float:
    """Width of a trench's line [mm]: the wider, the more pipes lie in it."""
    return 0.35 + 0.2 * min(len(trench.pipes), 6)


def _legend_lines(plan: Plan) -> int:
    kinds = {(pipe.role, pipe.size, pipe.material) for pipe in plan.pipes}
    return len(kinds) + len({head.head_class for head in plan.heads}) + 8


def _name_trenches(page: MapPage, plan: Plan, inside: dict[str, list[tuple[float, float]]]) -> None:
    """Names where they have room; those of crossings first, however short they are."""
    page.svg.layer("trench-names")
    page.board.avoid({name: LineString(path) for name, path in inside.items()})
    crossing = [t for t in plan.trenches if t.sleeve]
    for trench in (*crossing, *(t for t in plan.trenches if not t.sleeve)):
        line = LineString(inside.get(trench.id, [(0, 0), (0, 0)]))
        if line.length < (1e-6 if trench.sleeve else _LONG):
            continue
        middle = line.interpolate(0.5, normalized=True)
        spot = page.board.place(middle.x, middle.y, [trench.id], SMALL, bold=trench.sleeve)
        if spot:
            weight = "bold" if trench.sleeve else "normal"
            page.svg.text(*spot, trench.id, SMALL, halo=True, fill=INK, font_weight=weight)


def _trench_column(column: Column, plan: Plan, dashes: dict[str, str]) -> None:
    system = plan.yard.units
    column.paragraph(CAUTIONS[0], fill=CAUTION)
    column.heading("Trenches by ground")
    for surface, dash in dashes.items():
        own = [t for t in plan.trenches if t.surface == surface]
        x, y = column.row(surface, [show(sum(t.length for t in own), "length", system)])
        key_line(column.svg, x, y, MAIN, 0.55, dash)
    column.paragraph(f"Cover over the pipes {show(plan.yard.rules.trench_depth, 'depth', system)}.")
    column.paragraph("The wider the line, the more pipes lie in it.")
    crossing = [t for t in plan.trenches if t.sleeve]
    if crossing:
        column.heading("Crossings, each pipe in a sleeve")
        key_line(column.svg, *column.entry("sleeve"), SLEEVE, 2.4)
        shown = crossing[: column.lines_left(kept=STEP * 8)]
        for trench in shown:
            figures = (show(trench.length, "length", system), _pipes(len(trench.pipes)))
            column.row(f"{trench.id} {trench.surface}", figures, indent=0.0)
        if len(shown) < len(crossing):
            column.paragraph(f"and {len(crossing) - len(shown)} more: see the schedule of trenches")
    column.heading("Legend")
    mark_legend(column, plan)


def _pipes(number: int) -> str:
    return "1 pipe" if number == 1 else f"{number} pipes"


def _say_unnamed(column: Column, names: Sequence[str]) -> None:
    if names:
        column.paragraph(f"No room for the names of {', '.join(names)}: see the schedule of heads.", most=4)
