"""A manifold for CAD: three views side by side in true units, on layers by kind, with dimensions."""

from ezdxf.document import Drawing
from ezdxf.enums import InsertUnits, TextEntityAlignment

from rillwright.model.manifold import Manifold
from rillwright.physics.units import INCH
from rillwright.report.dxf import dxf_bytes, new_drawing
from rillwright.report.manifold_views import Dimension, ViewDrawn, views_of

__all__ = ["manifold_dxf"]

LAYERS = {  # colour by DXF's index
    "pipe": 5,
    "fitting": 8,
    "valve": 1,
    "device": 6,
    "dimension": 3,
    "level": 4,
    "words": 7,
}
_VALVES = ("valve", "isolating valve", "drain valve")
_DEVICES = ("device", "blow-out fitting")


def manifold_dxf(made: Manifold) -> bytes:
    """Draw a manifold in inches or millimetres, as its tape is marked."""
    metric = made.system == "metric"
    document = new_drawing(InsertUnits.Millimeters if metric else InsertUnits.Inches)
    for name, colour in LAYERS.items():
        document.layers.add(name, color=colour)
    unit = made.grid.metres(1) / (1e-3 if metric else INCH)  # of the drawing, for a mark
    size = 4.0 if metric else 0.16
    above, front, side = views_of(made)
    gap = 14 * size
    _View(document, unit, size, (0.0, 0.0)).draw(above)
    down = (front.high[1] - above.low[1]) * unit + gap
    _View(document, unit, size, (0.0, -down)).draw(front)
    right = (front.high[0] - side.low[0]) * unit + gap
    _View(document, unit, size, (right, -down)).draw(side)
    return dxf_bytes(document)


class _View:
    """One view in its place."""

    def __init__(self, document: Drawing, unit: float, size: float, origin: tuple[float, float]) -> None:
        self._space = document.modelspace()
        self._unit, self._size, self._origin = unit, size, origin

    def draw(self, view: ViewDrawn) -> None:
        """Outlines, dimensions, levels and the view's name."""
        for one in view.outlines:
            layer = self._layer(one.kind)
            corners = [one.low, (one.high[0], one.low[1]), one.high, (one.low[0], one.high[1])]
            self._space.add_lwpolyline([self._at(*c) for c in corners], close=True, dxfattribs={"layer": layer})
            if one.label:
                middle = self._at((one.low[0] + one.high[0]) / 2, (one.low[1] + one.high[1]) / 2)
                self._words(one.label, middle, TextEntityAlignment.MIDDLE_CENTER)
        for dimension in view.dimensions:
            self._dimension(view, dimension)
        for level in view.levels:
            begin, end = self._at(view.low[0], level.at), self._at(view.high[0], level.at)
            self._space.add_line(begin, end, dxfattribs={"layer": "level"})
            self._words(level.words, begin, TextEntityAlignment.RIGHT)
        self._words(f"seen {view.name}", self._at(view.low[0], view.high[1] + 2 * self._size / self._unit))

    def _layer(self, kind: str) -> str:
        if kind == "pipe":
            return "pipe"
        return "valve" if kind in _VALVES else "device" if kind in _DEVICES else "fitting"

    def _at(self, u: float, v: float) -> tuple[float, float]:
        return self._origin[0] + u * self._unit, self._origin[1] + v * self._unit

    def _words(
        self, words: str, at: tuple[float, float], place: TextEntityAlignment = TextEntityAlignment.LEFT
    ) -> None:
        text = self._space.add_text(words, height=self._size, dxfattribs={"layer": "words"})
        text.set_placement(at, align=place)

    def _dimension(self, view: ViewDrawn, one: Dimension) -> None:
        """A linear dimension with our own words, so that fractions read as on a tape."""
        off = 3.0 * self._size * one.row
        if one.along == "u":
            begin, end = self._at(one.begin, view.low[1]), self._at(one.end, view.low[1])
            base, angle = (begin[0], begin[1] - off), 0
        else:
            begin, end = self._at(view.high[0], one.begin), self._at(view.high[0], one.end)
            base, angle = (begin[0] + off, begin[1]), 90
        style = {"dimtxt": self._size, "dimasz": 0.7 * self._size, "dimexo": 0.3 * self._size}
        self._space.add_linear_dim(
            base=base, p1=begin, p2=end, angle=angle, text=one.words, override=style, dxfattribs={"layer": "dimension"}
        ).render()
