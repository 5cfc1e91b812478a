"""Long sections with levels: one to the worst head of each zone."""

from rillwright.model.section import Section, SectionMark, SectionPoint
from rillwright.physics.units import System, show
from rillwright.report.section_drawn import SECTION_HIGH, draw_section
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.flow import Cell, Flow

__all__ = ["section_sheets"]

_CELLS = (
    Cell("no."),
    Cell("what", stretch=1),
    Cell("from the entry", right=True),
    Cell("ground", right=True),
    Cell("pipe", right=True),
    Cell("static", right=True),
    Cell("working", right=True),
    Cell("takes", right=True),
)


def section_sheets(book: Book) -> None:
    """Draw every section and list its levels and pressures where each thing begins."""
    told = book.told
    if not told.sections:
        return
    system = told.plan.yard.units
    flow = Flow(book, "Sections with levels", scale="scales as told")
    for section in told.sections:
        rows = _rows(section, system)
        flow.heading(
            f"{section.zone} runs: from the water entry to {section.end}",
            keep=SECTION_HIGH + 4 + flow.high(_CELLS, rows),
        )
        flow.picture(SECTION_HIGH, lambda svg, box, one=section: draw_section(svg, one, box, system=system))  # type: ignore[misc]
        flow.gap(2)
        flow.table(_CELLS, rows)


def _rows(section: Section, system: System) -> list[list[str]]:
    """A row for each mark: levels and pressures before it takes its own."""
    rows: list[list[str]] = []
    taken = 0.0  # [Pa] by what stands at the same distance before it
    before: SectionMark | None = None
    for number, mark in enumerate(section.marks, start=1):
        here = _first(section, mark.distance)
        taken = taken + before.loss if before and before.distance == mark.distance else 0.0
        end = section.points[-1] if mark.kind == "head" else here
        rows.append(
            [
                str(number),
                mark.label,
                show(mark.distance, "length", system),
                show(here.ground, "length", system),
                show(end.pipe, "length", system),
                show(end.static, "pressure", system),
                show(end.working if mark.kind == "head" else here.working - taken, "pressure", system),
                show(mark.loss, "pressure", system) if mark.loss else "",
            ]
        )
        before = mark
    return rows


def _first(section: Section, distance: float) -> SectionPoint:
    """The first point at a distance."""
    return min(section.points, key=lambda point: abs(point.distance - distance))
