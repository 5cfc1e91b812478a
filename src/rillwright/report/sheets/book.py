"""The set as it grows: sheets with their title blocks, numbered when all are there."""

from dataclasses import dataclass

from rillwright.report.palette import CAUTION, INK, SOFT
from rillwright.report.scale import Sheet
from rillwright.report.sheets.told import Told
from rillwright.report.svg import Svg
from rillwright.report.text import SMALL, TEXT, shorten

__all__ = ["NO_SCALE", "Book", "Leaf"]

NO_SCALE = "no scale"

_SHARES = (0.35, 0.29, 0.12, 0.10, 0.14)  # of the title block's width: yard, title, date, sheet, plan
_GAP = 2.5  # [mm] between the drawing and its title block


@dataclass(frozen=True, slots=True)
class Leaf:
    """One sheet."""

    title: str
    sheet: Sheet
    svg: Svg
    scale: str  # as the title block has it


class Book:
    """Sheets in their order."""

    def __init__(self, told: Told, *, name: str = "set") -> None:
        """Name: goes before every id."""
        self.told = told
        self.leaves: list[Leaf] = []
        self._name = name

    def leaf(self, title: str, *, sheet: Sheet | None = None, scale: str = NO_SCALE) -> Leaf:
        """Add an empty sheet: lying, unless another is given."""
        paper = sheet or self.told.paper
        number = len(self.leaves) + 1
        name = f"{self.told.plan.yard.name}: {title}, {scale}"
        svg = Svg(paper.width, paper.height, name=f"{self._name}{number}", title=name)
        svg.rect(0, 0, paper.width, paper.height, fill="#ffffff")
        leaf = Leaf(title, paper, svg, scale)
        self.leaves.append(leaf)
        return leaf

    def number(self, *, first: int, of: int) -> None:
        """Draw the title blocks, once all sheets are there."""
        for number, leaf in enumerate(self.leaves, start=first):
            _title_block(leaf, self.told, f"{number} of {of}")


def _title_block(leaf: Leaf, told: Told, number: str) -> None:
    svg, sheet = leaf.svg, leaf.sheet
    left, right = sheet.margin, sheet.width - sheet.margin
    top, bottom = sheet.foot + _GAP, sheet.height - sheet.margin
    svg.layer("title-block")
    svg.rect(left, top, right - left, bottom - top, fill="none", stroke=INK, stroke_width=0.35)
    paper = sheet.name.removesuffix(" portrait")
    cells = (
        ("invented yard: no such place exists" if told.invented else "yard", told.plan.yard.name),
        (f"{leaf.scale} on {paper}", leaf.title),
        ("date", told.date),
        ("sheet", number),
        (f"plan by {told.plan.software}", told.mark),
    )
    x = left
    for share, (small, words) in zip(_SHARES, cells, strict=True):
        wide = share * (right - left)
        if x > left:
            svg.line([(x, top), (x, bottom)], stroke=INK, stroke_width=0.2)
        fill = CAUTION if small.startswith("invented") else SOFT
        svg.text(x + 2, top + 4.3, shorten(small, SMALL, wide - 4), SMALL, fill=fill)
        bold = shorten(words, TEXT + 0.4, wide - 4, bold=True)
        if words:
            svg.text(x + 2, top + 10.2, bold, TEXT + 0.4, fill=INK, font_weight="bold")
        else:
            svg.line([(x + 2, top + 10.6), (x + wide - 2, top + 10.6)], stroke=SOFT, stroke_width=0.2)
        x += wide
