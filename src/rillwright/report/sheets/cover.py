"""The cover: verdict and cautions first, then what a reader must know, the figures, and the list of sheets."""

from itertools import groupby

import segno

from rillwright.physics.units import show
from rillwright.report.column import CAUTIONS
from rillwright.report.page import VAPOUR
from rillwright.report.palette import CAUTION
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.flow import Cell, Flow
from rillwright.report.svg import Svg
from rillwright.report.text import TITLE

__all__ = ["covers_of"]

_AIR = "Compressed air can maim: eye protection, nobody over a head, never through the backflow device."
_MODULE = 0.8  # [mm] of the code that a phone reads: 0.4 mm is about the least
_QUIET = 4  # modules round it that stay white: ISO/IEC 18004


def covers_of(book: Book, titles: list[str]) -> Book:
    """The cover of a set whose other sheets have these titles, on as many sheets as it takes."""
    pages = 1
    while True:
        cover = Book(book.told, name="cover")
        _fill(cover, ["Cover"] * pages + titles)
        if len(cover.leaves) == pages:
            return cover
        pages = len(cover.leaves)


def _fill(cover: Book, titles: list[str]) -> None:
    told = cover.told
    plan = told.plan
    flow = Flow(cover, "Cover", columns=2)
    flow.heading(plan.yard.name, size=TITLE)
    if told.invented:
        flow.paragraph("An invented yard: no such place, house or reading exists.", fill=CAUTION)
    flow.heading(f"Verdict: {plan.verdict}")
    flow.paragraph(plan.headline)
    flow.heading("Cautions")
    for caution in (*CAUTIONS, VAPOUR, _AIR, "Nothing here is a permit."):
        flow.paragraph(caution, fill=CAUTION)
    for severity, words in (("must", "Must be mended"), ("should", "Should be mended"), ("know", "Good to know")):
        found = [finding for finding in plan.findings if finding.severity == severity]
        if found:
            flow.heading(words)
        for finding in found:
            flow.paragraph(f"{finding.where}: {_ended(finding.what)} {_ended(finding.do)}".strip())
    flow.heading("In figures")
    flow.table((Cell("what"), Cell("how much", stretch=1)), _figures(cover))
    if told.address:
        flow.heading("This plan in the page", keep=_code_side(told.address) + 8)
        flow.picture(_code_side(told.address), lambda svg, box: _code(svg, told.address, box[:2]))
        flow.paragraph(f"While it is served: {told.address}")
    cells, rows = (Cell("sheet", right=True), Cell("title", stretch=1)), _runs(titles)
    flow.heading("Sheets", keep=flow.high(cells, rows))
    flow.table(cells, rows)
    flow.paragraph("Print at 100 %, then hold a ruler to a scale bar before you measure on any drawing.")
    flow.paragraph("Every figure has its working: press it in the page, or ask `rillwright explain`.")
    for words in told.left_out:
        flow.paragraph(f"Not in this set: {words}")


def _runs(titles: list[str]) -> list[tuple[str, str]]:
    """The numbers of sheets that follow one another under one title, whatever their part."""
    rows, first = [], 1
    for title, same in groupby(title.split(", part ")[0] for title in titles):
        last = first + sum(1 for _ in same) - 1
        rows.append((str(first) if first == last else f"{first} to {last}", title))
        first = last + 1
    return rows


def _ended(words: str) -> str:
    return words if not words or words.endswith((".", "!", "?")) else f"{words}."


def _figures(cover: Book) -> list[tuple[str, str]]:
    plan, system = cover.told.plan, cover.told.plan.yard.units
    rows = [
        ("supply", f"safe flow {show(plan.supply.safe_flow, 'flow', system)}, {plan.supply.basis}"),
        ("pressure kept at the entry", show(plan.supply.reference_pressure, "pressure", system)),
        ("zones, valve places", f"{len(plan.zones)}, {len(plan.places)}"),
        ("heads", str(len(plan.heads))),
        ("backflow protection", plan.backflow or "none"),
        ("pipe", show(sum(pipe.length for pipe in plan.pipes), "length", system)),
        ("trench", show(sum(trench.length for trench in plan.trenches), "length", system)),
    ]
    rows += [(f"evenness of {lawn.id}", f"DU {lawn.least_du:.2f}, CU {lawn.evenness.cu:.2f}") for lawn in plan.lawns]
    if plan.cost:
        rows.append(("cost", f"{plan.cost.total:.2f} {plan.yard.currency}"))
    return rows


def _code_side(address: str) -> float:
    return (segno.make(address, micro=False, error="m").symbol_size(border=_QUIET)[0]) * _MODULE


def _code(svg: Svg, address: str, at: tuple[float, float]) -> None:
    """The address as a code for a phone's camera, dark runs as rectangles."""
    svg.layer("code")
    for row, modules in enumerate(segno.make(address, micro=False, error="m").matrix_iter(border=_QUIET)):
        start = None
        for column, dark in enumerate([*modules, 0]):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                x, y = at[0] + start * _MODULE, at[1] + row * _MODULE
                svg.rect(x, y, (column - start) * _MODULE, _MODULE, fill="#000000")
                start = None
    svg.layer("words")
