"""The column at the right of a sheet: text that flows down, and the furniture every sheet has."""

import math
from collections.abc import Sequence

from rillwright.model.plan import Plan
from rillwright.physics.units import FOOT
from rillwright.report.palette import CAUTION, INK, SOFT
from rillwright.report.scale import View
from rillwright.report.svg import Svg
from rillwright.report.text import HEADING, SMALL, TEXT, TITLE, shorten, text_width, wrap

__all__ = ["CAUTIONS", "STEP", "Column", "draw_furniture"]

CAUTIONS = (
    "Have buried services located and marked before digging: call the utility-location service first.",
    "Backflow protection keeps the drinking water clean: kind, height and testing are set by local code.",
    "Joining the house supply, line voltage and torch work belong to licensed trades where the law says so.",
)

STEP = 4.1  # [mm] from one line of the column to the next
_INDENT = 9.0  # [mm] of a key before its words
_FIGURE = 20.0  # [mm] of a column of figures
_FURNITURE = 24.0  # [mm] of the foot that scale bar and north arrow take
_BAR = 0.27  # of the column's width that the scale bar takes at the least: north has its place beside the longest


class Column:
    """A cursor that goes down the column of a sheet."""

    def __init__(self, svg: Svg, view: View) -> None:
        sheet = view.sheet
        self.svg = svg
        self.x = sheet.width - sheet.margin - sheet.column + 6
        self.wide = sheet.column - 6
        self.y = sheet.margin + 5.0
        self.foot = sheet.foot - _FURNITURE
        line = [(self.x - 3, sheet.margin), (self.x - 3, sheet.foot)]
        svg.layer("column")
        svg.line(line, stroke="#9aa0a6", stroke_width=0.2)

    def title(self, plan: Plan, view: View, kind: str) -> None:
        """Name of the yard, kind of drawing, scale and paper."""
        for line in wrap(plan.yard.name, TITLE, self.wide, bold=True)[:3]:
            self.svg.text(self.x, self.y, line, TITLE, fill=INK, font_weight="bold")
            self.y += 5.4
        self.svg.text(self.x, self.y, f"{kind}, {view.name} on {view.sheet.name}", HEADING, fill=INK)
        self.y += 5.2

    def heading(self, words: str) -> None:
        """A heading with some room before it."""
        self.y += 2.4
        self.svg.text(self.x, self.y, words, HEADING, fill=INK, font_weight="bold")
        self.y += STEP + 0.4

    def paragraph(self, words: str, *, size: float = TEXT, most: int = 8, fill: str = INK) -> None:
        """Words that break into lines, at most so many."""
        lines = wrap(words, size, self.wide)
        if len(lines) > most:
            lines = [*lines[: most - 1], shorten(" ".join(lines[most - 1 :]), size, self.wide)]
        for line in lines:
            self.svg.text(self.x, self.y, line, size, fill=fill)
            self.y += 1.38 * size

    def entry(self, words: str) -> tuple[float, float]:
        """The words of one legend entry, after the room for its key; gives the key's centre."""
        lines = wrap(words, TEXT, self.wide - _INDENT)
        key = (self.x + 3.2, self.y - 0.9)
        for line in lines:
            self.svg.text(self.x + _INDENT, self.y, line, TEXT, fill=INK)
            self.y += STEP if line is lines[-1] else 3.4
        return key

    def entries(self, words: list[str], *, columns: int) -> list[tuple[float, float]]:
        """Short legend entries side by side; gives the centres of their keys."""
        keys: list[tuple[float, float]] = []
        pitch = self.wide / columns
        for number, word in enumerate(words):
            left, y = self.x + number % columns * pitch, self.y + number // columns * STEP
            self.svg.text(left + _INDENT, y, shorten(word, TEXT, pitch - _INDENT - 1), TEXT, fill=INK)
            keys.append((left + 3.2, y - 0.9))
        self.y += math.ceil(len(words) / columns) * STEP
        return keys

    def row(self, words: str, figures: Sequence[str], *, indent: float = _INDENT) -> tuple[float, float]:
        """One line with words at the left and figures in columns at the right; gives the key's centre."""
        right = self.x + self.wide
        for number, figure in enumerate(reversed(figures)):
            self.svg.text(right - number * _FIGURE, self.y, figure, TEXT, fill=INK, text_anchor="end")
        room = self.wide - indent - (len(figures) - 1) * _FIGURE - text_width(figures[0], TEXT) - 2
        if words:
            self.svg.text(self.x + indent, self.y, shorten(words, TEXT, room), TEXT, fill=INK)
        self.y += STEP
        return self.x + 3.2, self.y - STEP - 0.9

    def lines_left(self, *, kept: float) -> int:
        """How many lines still fit when so many millimetres are kept for what follows."""
        return max(0, int((self.foot - kept - self.y) / STEP))


def draw_furniture(column: Column, plan: Plan, view: View, *, cautions: bool) -> None:
    """Scale bar and north arrow at the foot of the column, the cautions over them when asked for."""
    foot = view.sheet.foot
    if cautions:
        lines = [wrap(caution, SMALL, column.wide) for caution in CAUTIONS]
        column.y = column.foot - 1.38 * SMALL * sum(map(len, lines)) - 0.8 * len(lines) + 2.5
        for caution in CAUTIONS:
            column.paragraph(caution, size=SMALL, fill=CAUTION)
            column.y += 0.8
    _scale_bar(column, plan, view, foot - 5)
    _north(column.svg, plan, column.x + column.wide - 10, foot - 10.5)


def _scale_bar(column: Column, plan: Plan, view: View, y: float) -> None:
    svg, x = column.svg, column.x
    unit, name = (FOOT, "ft") if plan.yard.units == "US" else (1.0, "m")
    least = _BAR * column.wide / 4  # the next customary step is up to 2.5 times as long
    step = next((s for s in (0.5, 1, 2, 5, 10, 20, 50, 100, 200) if s * unit * view.millimetres >= least), 500)
    wide = step * unit * view.millimetres
    for i in range(4):
        svg.rect(x + i * wide, y, wide, 1.4, fill=INK if i % 2 == 0 else "#ffffff", stroke=INK, stroke_width=0.2)
    for i in (0, 2, 4):
        words = f"{i * step:g} {name}" if i == 4 else f"{i * step:g}"
        svg.text(x + i * wide, y - 1, words, SMALL, fill=INK, text_anchor="middle" if i else "start")


def _north(svg: Svg, plan: Plan, x: float, y: float) -> None:
    angle = math.radians(plan.yard.north)
    reach = 6.2
    tip = (x + reach * math.cos(angle), y - reach * math.sin(angle))
    tail = (x - reach * math.cos(angle), y + reach * math.sin(angle))
    side = (-math.sin(angle) * 1.8, -math.cos(angle) * 1.8)
    svg.polygon([tip, (x + side[0], y + side[1]), (x - side[0], y - side[1])], fill=INK)
    svg.line([tail, (x, y)], stroke=SOFT, stroke_width=0.4)
    label = (x + (reach + 2.2) * math.cos(angle), y - (reach + 2.2) * math.sin(angle))
    svg.text(label[0], label[1] + 1.1, "N", HEADING, fill=INK, text_anchor="middle", font_weight="bold")
