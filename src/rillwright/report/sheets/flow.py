"""Text and tables that flow down a sheet, over its columns, and on to the next sheet."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rillwright.report.palette import INK, SOFT
from rillwright.report.sheets.book import NO_SCALE, Book
from rillwright.report.svg import Svg
from rillwright.report.text import HEADING, TEXT, text_width, wrap

__all__ = ["Cell", "Flow"]

_LINE = 1.38  # line step as a share of the size
_PAD = 1.1  # [mm] at the sides of a cell's words
_RISE = 0.75  # [mm] over and under them
_GUTTER = 7.0  # [mm] between the columns of a sheet
_LEAST = 24.0  # [mm] of a column that may be broken into lines
_BOX = 2.4  # [mm] side of a box to tick
_RULE = "#8d959b"


@dataclass(frozen=True, slots=True)
class Cell:
    """A column of a table: its heading, and how it takes its room."""

    title: str
    right: bool = False  # figures stand at the right
    stretch: float = 0.0  # share of the room that is left; 0: as wide as its words
    tick: bool = False  # a box to tick in every row, in place of words


class Flow:
    """A cursor that goes down the sheets of one title."""

    def __init__(self, book: Book, title: str, *, columns: int = 1, scale: str = NO_SCALE) -> None:
        self._book, self._title, self._columns, self._scale = book, title, columns, scale
        paper = book.told.paper
        self._top, self._bottom = paper.margin, paper.foot
        self.wide = (paper.width - 2 * paper.margin - (columns - 1) * _GUTTER) / columns
        self._column = columns
        self.svg: Svg
        self.x = self.y = 0.0
        self._next()

    def _next(self) -> None:
        """Go on in the next column, or on the next sheet."""
        self._column += 1
        if self._column >= self._columns:
            self._column = 0
            self.svg = self._book.leaf(self._title, scale=self._scale).svg
            self.svg.layer("words")
        self.x = self._book.told.paper.margin + self._column * (self.wide + _GUTTER)
        self.y = self._top

    def _fresh(self) -> bool:
        return self.y == self._top

    def room(self, high: float) -> None:
        """See to it that so many millimetres are left, unless nothing stands here yet."""
        if self.y + high > self._bottom and not self._fresh():
            self._next()

    def high(self, cells: Sequence[Cell], rows: Sequence[Sequence[str]]) -> float:
        """Height of a table of one line in each row, but a column's at the most [mm]."""
        one = _high([[""]] * len(cells), 0)
        return min((len(rows) + 1) * one, self._bottom - self._top)

    def gap(self, high: float) -> None:
        """Leave some room, but not at the head of a column."""
        if not self._fresh():
            self.y += high

    def heading(self, words: str, *, size: float = HEADING, keep: float = 14.0) -> None:
        """A heading that stays with so many millimetres of what follows."""
        lines = wrap(words, size, self.wide, bold=True)
        self.gap(size)
        self.room(_LINE * size * len(lines) + keep)
        for line in lines:
            self.y += _LINE * size
            self.svg.text(self.x, self.y - 0.3 * size, line, size, fill=INK, font_weight="bold")
        self.y += 0.8

    def paragraph(self, words: str, *, size: float = TEXT, fill: str = INK, indent: float = 0.0) -> None:
        """Words that break into lines, over columns and sheets where they must."""
        for line in wrap(words, size, self.wide - indent):
            self.room(_LINE * size)
            self.y += _LINE * size
            self.svg.text(self.x + indent, self.y - 0.3 * size, line, size, fill=fill)
        self.y += 0.4 * size

    def picture(self, high: float, draw: Callable[[Svg, tuple[float, float, float, float]], None]) -> None:
        """Something drawn in a box of the column's width."""
        self.room(high)
        draw(self.svg, (self.x, self.y, self.x + self.wide, self.y + high))
        self.y += high

    def boxes(self, words: Sequence[str]) -> None:
        """Things to tick off, as many side by side as have room."""
        items = [wrap(word, TEXT, self.wide - _BOX - 1.5) for word in words]
        for row in _side_by_side(items, self.wide):
            high = _LINE * TEXT * max(len(lines) for lines, _ in row)
            self.room(high)
            for lines, aside in row:
                x = self.x + aside
                _tick_box(self.svg, x, self.y + (_LINE - 1.06) * TEXT)
                for number, line in enumerate(lines, start=1):
                    self.svg.text(x + _BOX + 1.2, self.y + (_LINE * number - 0.3) * TEXT, line, TEXT, fill=INK)
            self.y += high
        self.y += 0.4 * TEXT

    def table(self, cells: Sequence[Cell], rows: Sequence[Sequence[str]], *, pen: float = 0.0) -> None:
        """A table whose heading comes again on each sheet.

        pen: height [mm] of each row's lines at the least, in a full grid, for what is written in by hand.
        """
        widths = _widths(cells, rows, self.wide)
        head = [wrap(cell.title, TEXT, wide - 2 * _PAD, bold=True) for cell, wide in zip(cells, widths, strict=True)]
        rest = [[wrap(words, TEXT, wide - 2 * _PAD) for words, wide in zip(row, widths, strict=True)] for row in rows]
        self.room(_high(head, 0) + (_high(rest[0], pen) if rest else 0))
        self._row(cells, widths, head, bold=True, pen=pen)
        for row in rest:
            if self.y + _high(row, pen) > self._bottom:
                self._next()
                self._row(cells, widths, head, bold=True, pen=pen)
            self._row(cells, widths, row, bold=False, pen=pen)
        self.y += 1.5

    def beside(self, cells: Sequence[Cell], rows: Sequence[Sequence[str]]) -> None:
        """A table of one line in each row, beside itself as often as it fits."""
        widths = _natural(cells, rows)
        times = int((self.wide + _GUTTER) / (sum(widths) + _GUTTER))
        if times < 2:
            self.table(cells, rows)
            return
        left, one = list(rows), _high([[""]], 0)
        while left:
            self.room(4 * one)
            each = min(math.ceil(len(left) / times), int((self._bottom - self.y) / one) - 1)
            x, top = self.x, self.y
            for n in range(times):
                part = left[n * each : (n + 1) * each]
                if part:
                    self.x, self.y = x + n * (sum(widths) + _GUTTER), top
                    self._row(cells, widths, [[cell.title] for cell in cells], bold=True, pen=0)
                    for row in part:
                        self._row(cells, widths, [[words] for words in row], bold=False, pen=0)
            left = left[times * each :]
            self.x, self.y = x, top + (each + 1) * one
        self.y += 1.5

    def _row(
        self, cells: Sequence[Cell], widths: Sequence[float], row: Sequence[list[str]], *, bold: bool, pen: float
    ) -> None:
        high, x = _high(row, 0 if bold else pen), self.x
        weight = "bold" if bold else "normal"
        for cell, wide, lines in zip(cells, widths, row, strict=True):
            if cell.tick and not bold:
                _tick_box(self.svg, x + _PAD, self.y + _RISE + 0.4)
            for number, line in enumerate(lines, start=1):
                y = self.y + _RISE + _LINE * TEXT * number - 0.35 * TEXT
                if cell.right:
                    self.svg.text(x + wide - _PAD, y, line, TEXT, fill=INK, text_anchor="end", font_weight=weight)
                else:
                    self.svg.text(x + _PAD, y, line, TEXT, fill=INK, font_weight=weight)
            if pen:
                self.svg.rect(x, self.y, wide, high, fill="none", stroke=SOFT, stroke_width=0.2)
            x += wide
        self.y += high
        if not pen:
            stroke, thick = (INK, 0.3) if bold else (_RULE, 0.12)
            self.svg.line([(self.x, self.y), (x, self.y)], stroke=stroke, stroke_width=thick)


def _side_by_side(items: Sequence[list[str]], wide: float) -> list[list[tuple[list[str], float]]]:
    """Items to tick off in rows, each with its place in its row [mm]."""
    rows: list[list[tuple[list[str], float]]] = []
    end = wide
    for lines in items:
        own = _BOX + 1.5 + max(text_width(line, TEXT) for line in lines)
        if not rows or end + own > wide:
            rows.append([])
            end = 0.0
        rows[-1].append((lines, end))
        end += own + 3.5
    return rows


def _tick_box(svg: Svg, x: float, y: float) -> None:
    svg.rect(x, y, _BOX, _BOX, fill="none", stroke=INK, stroke_width=0.25)


def _natural(cells: Sequence[Cell], rows: Sequence[Sequence[str]]) -> list[float]:
    """Width of each column's words."""
    return [
        max([text_width(cell.title, TEXT, bold=True), *(text_width(row[n], TEXT) for row in rows)]) + 2 * _PAD + 0.2
        for n, cell in enumerate(cells)
    ]


def _high(row: Sequence[list[str]], pen: float) -> float:
    return max(pen, max(map(len, row)) * _LINE * TEXT + 2 * _RISE)


def _widths(cells: Sequence[Cell], rows: Sequence[Sequence[str]], wide: float) -> list[float]:
    """Width of each column: that of its words, or a share of what those leave; all less where there is no room.

    An elastic column that needs less than its share leaves the rest to the others; one for the pen takes its share.
    """
    natural = _natural(cells, rows)
    kept = sum(own for cell, own in zip(cells, natural, strict=True) if not cell.stretch)
    asked = _LEAST * sum(1 for cell in cells if cell.stretch)
    shrink = min(1.0, (wide - asked) / kept) if kept else 1.0
    widths = [shrink * own for own in natural]
    left = wide - shrink * kept
    elastic = sorted((n for n, cell in enumerate(cells) if cell.stretch), key=lambda n: natural[n] / cells[n].stretch)
    for place, n in enumerate(elastic):
        share = left * cells[n].stretch / sum(cells[m].stretch for m in elastic[place:])
        for_pen = not any(row[n] for row in rows)
        widths[n] = share if for_pen else min(natural[n], share)
        left -= widths[n]
    return widths
