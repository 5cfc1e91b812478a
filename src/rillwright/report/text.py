"""Width of printed text and places for labels that do not cover one another."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import shapely
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath

__all__ = ["FONT", "LabelBoard", "text_width"]

FONT = "DejaVu Sans"  # shipped with matplotlib, so every machine prints the same


@lru_cache(maxsize=4096)
def text_width(text: str, size: float) -> float:
    """Width of a text in the unit of its size, both [mm]."""
    if not text.strip():
        return 0.3 * size * len(text)
    outline = TextPath((0, 0), text, size=100, prop=FontProperties(family=FONT))
    return float(outline.get_extents().x1) / 100 * size


@dataclass
class LabelBoard:
    """Remembers what is printed where, in paper millimetres, and finds free places."""

    width: float
    height: float
    _taken: list[shapely.Geometry] = field(default_factory=list)

    def block(self, shapes: Iterable[shapely.Geometry]) -> None:
        """Keep labels off these shapes."""
        self._taken += list(shapes)

    def place(
        self, x: float, y: float, text: str, size: float, *, reach: Sequence[float] = (1.2, 2.2, 3.5, 5.5)
    ) -> tuple[float, float] | None:
        """Find the place of a label near a point: left end and baseline, or None when all near places are taken.

        Tries eight directions at growing distance; the first place that touches nothing printed so far is taken.
        """
        wide, high = text_width(text, size), size
        for distance in reach:
            for dx, dy in ((1, 0), (-1, 0), (0, -1), (0, 1), (0.7, -0.7), (0.7, 0.7), (-0.7, -0.7), (-0.7, 0.7)):
                centre_x = x + dx * (distance + wide / 2)
                centre_y = y + dy * (distance + high / 2)
                box = shapely.box(centre_x - wide / 2, centre_y - high / 2, centre_x + wide / 2, centre_y + high / 2)
                if self._is_free(box):
                    self._taken.append(box)
                    return centre_x - wide / 2, centre_y + 0.36 * size
        return None

    def claim(self, centre_x: float, centre_y: float, text: str, size: float) -> bool:
        """Take the place centred on a point for a label if it is free; say whether it was."""
        wide = text_width(text, size)
        box = shapely.box(centre_x - wide / 2, centre_y - size / 2, centre_x + wide / 2, centre_y + size / 2)
        free = self._is_free(box)
        if free:
            self._taken.append(box)
        return free

    def _is_free(self, box: shapely.Geometry) -> bool:
        low_x, low_y, high_x, high_y = box.bounds
        if low_x < 0 or low_y < 0 or high_x > self.width or high_y > self.height:
            return False
        return not (self._taken and bool(shapely.intersects(self._taken, box).any()))
