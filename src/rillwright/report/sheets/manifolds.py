"""Manifold details: each valve place to scale in three views, with its cut list, heights and fittings."""

from rillwright.model.manifold import Manifold
from rillwright.report.manifold_drawing import draw_views, fitted, manifold_lines
from rillwright.report.sheets.book import Book
from rillwright.report.text import HEADING, wrap

__all__ = ["manifold_sheets"]


def manifold_sheets(book: Book) -> None:
    """A sheet for each valve place; what its column has no room for goes on beneath, on a sheet of words."""
    for made in book.told.manifolds:
        _draw(book, made)


def _draw(book: Book, made: Manifold) -> None:
    sheet, (ratio, name) = fitted(made, [book.told.paper])
    title = f"Manifold {made.place}"
    svg = book.leaf(title, scale=name).svg
    svg.layer("views")
    draw_views(svg, made, book.told.plan, sheet, ratio)
    left, wide = sheet.width - sheet.margin - sheet.column + 4, sheet.column - 4
    y = sheet.margin + 2.6
    svg.layer("words")
    for words, size, colour, bold in manifold_lines(made, book.told.plan):
        lines = wrap(words, size, wide, bold=bold) or [""]
        y += 1.6 if size == HEADING and bold else 0.0
        if y + 1.38 * size * len(lines) > sheet.foot:
            svg, y = book.leaf(title).svg, sheet.margin + 2.6
            svg.layer("words")
            left, wide = sheet.margin, sheet.width - 2 * sheet.margin
            lines = wrap(words, size, wide, bold=bold) or [""]
        for line in lines:
            svg.text(left, y, line, size, fill=colour, font_weight="bold" if bold else "normal")
            y += 1.38 * size
