"""Places for labels that cover neither one another nor the marks of the drawing."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from rillwright.report.text import ASCENT, text_width

__all__ = ["EDGE", "LabelBoard"]

Box = tuple[float, float, float, float]
Point = tuple[float, float]

EDGE = 0.5  # [mm] that a field for labels keeps off the edge of what is drawn
NEAR = (1.2, 2.2, 3.5)  # [mm] from the point to its label
FAR = (5.0, 7.0, 9.5, 12.0)
_GAP = 0.3  # [mm] kept round a label
_CELL = 8.0  # [mm] side of the squares by which taken boxes are looked up
_LEADING = 1.2  # line step as a share of the size
_DIRECTIONS = ((1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (1, 1), (-1, -1), (-1, 1))


class LabelBoard:
    """Remembers what is printed where, in paper millimetres, and finds free places.

    Labels never cover other labels or blocked boxes; they keep off lines (pipes) where a place near by allows it.
    """

    def __init__(self, field: Box) -> None:
        """Field: left, top, right and bottom of the part of the sheet that may hold labels."""
        self._field = field
        self._taken: dict[tuple[int, int], list[Box]] = defaultdict(list)  # by the squares of _CELL that they lie in
        self._owners: list[str] = []
        self._lines = shapely.STRtree([])

    def holds(self, at: Point) -> bool:
        """Whether a point lies in the field, or on the match line or edge just outside it."""
        left, top, right, bottom = self._field
        return left - EDGE <= at[0] <= right + EDGE and top - EDGE <= at[1] <= bottom + EDGE

    def block(self, boxes: Iterable[Box]) -> None:
        """Keep labels off these boxes."""
        for box in boxes:
            self._keep(box)

    def avoid(self, lines: Mapping[str, BaseGeometry]) -> None:
        """Keep labels off these lines where possible; each has a name, and a label may lie on the line it names."""
        self._owners = list(lines)
        self._lines = shapely.STRtree(list(lines.values()))

    def place(self, x: float, y: float, lines: Sequence[str], size: float, *, bold: bool = False) -> Point | None:
        """Find the place of a label near a point: left end and first baseline, or None when all places are taken.

        Near places clear of lines come first, then near places on a line, then far ones; the caller draws a leader
        to a far one.
        """
        wide = max(text_width(line, size, bold=bold) for line in lines)
        high = size * (1 + _LEADING * (len(lines) - 1))
        for distances, clear in ((NEAR, True), (NEAR, False), (FAR, True), (FAR, False)):
            for box in _around(x, y, wide, high, distances):
                if self._take(box, clear=clear):
                    return box[0], box[1] + ASCENT * size
        return None

    def claim(
        self, x: float, y: float, text: str, size: float, *, bold: bool = False, clear: bool = True, own: str = ""
    ) -> Point | None:
        """Take the place centred on a point if it is free; give its left end and baseline, or None.

        clear: it must keep off lines too, but for the line named `own`.
        """
        wide = text_width(text, size, bold=bold)
        box = (x - wide / 2, y - size / 2, x + wide / 2, y + size / 2)
        return (box[0], box[1] + ASCENT * size) if self._take(box, clear=clear, own=own) else None

    def claim_mark(self, x: float, y: float, half: float) -> Point:
        """Take a square for a mark at a point, or beside it when that is taken; give its centre."""
        spots = [(x, y)]
        spots += [(x + d * half * sx, y + d * half * sy) for d in (2.3, 3.5, 5.0) for sx, sy in _DIRECTIONS]
        for cx, cy in spots:
            box = (cx - half, cy - half, cx + half, cy + half)
            if self._take(box, clear=False):
                return cx, cy
        return x, y

    def _take(self, box: Box, *, clear: bool, own: str = "") -> bool:
        left, top, right, bottom = box[0] - _GAP, box[1] - _GAP, box[2] + _GAP, box[3] + _GAP
        if left < self._field[0] or top < self._field[1] or right > self._field[2] or bottom > self._field[3]:
            return False
        for cell in _cells((left, top, right, bottom)):
            for x1, y1, x2, y2 in self._taken.get(cell, ()):
                if x1 < right and x2 > left and y1 < bottom and y2 > top:
                    return False
        if clear:
            met = self._lines.query(shapely.box(left, top, right, bottom), predicate="intersects")
            if any(self._owners[i] != own for i in met):
                return False
        self._keep(box)
        return True

    def _keep(self, box: Box) -> None:
        for cell in _cells(box):
            self._taken[cell].append(box)


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    """Squares of the sheet that a box lies in."""
    for column in range(int(box[0] // _CELL), int(box[2] // _CELL) + 1):
        for row in range(int(box[1] // _CELL), int(box[3] // _CELL) + 1):
            yield column, row


def _around(x: float, y: float, wide: float, high: float, distances: Sequence[float]) -> Iterator[Box]:
    """Boxes round a point, nearest first."""
    for distance in distances:
        for sx, sy in _DIRECTIONS:
            slant = 0.7 if sx and sy else 1.0
            left = x + sx * (slant * distance + wide / 2) - wide / 2
            top = y + sy * (slant * distance + high / 2) - high / 2
            yield left, top, left + wide, top + high
