"""The winter card in the set: what to do in autumn and spring, with dates where there is a weather record."""

from rillwright.model.winter_card import CardPart, CardTable
from rillwright.report.palette import CAUTION
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.flow import Cell, Flow

__all__ = ["winter_sheets"]


def winter_sheets(book: Book) -> None:
    """The card, in two columns, and its figures."""
    card = book.told.winter
    if card is None:
        return
    flow = Flow(book, "Winter card", columns=2)
    flow.heading(card.headline)
    for part in card.parts:
        _part(flow, part)
    if card.assumed:
        flow.heading("Assumed")
    for words in card.assumed:
        flow.paragraph(words)
    if card.tables:
        figures = Flow(book, "Winter figures")
        for table in card.tables:
            _table(figures, table)


def _part(flow: Flow, part: CardPart) -> None:
    flow.heading(part.title)
    for words in part.cautions:
        flow.paragraph(words, fill=CAUTION)
    for words in part.says:
        flow.paragraph(words)
    flow.boxes(part.steps)


def _table(flow: Flow, table: CardTable) -> None:
    flow.heading(table.title)
    cells = [Cell(title, right=n > 0, stretch=1 if n == 0 else 0) for n, title in enumerate(table.columns)]
    flow.table(cells, table.rows)
    if table.note:
        flow.paragraph(table.note)
