"""The plan as a DXF drawing in true units: layers named in words of the trade, heads and marks as blocks.

The ground's layers are those that yards are read from (see exchange/dxf), so that a plan's drawing is a yard's too.
Heads carry id, zone, nozzle, arc, direction, throw, flow and pressure as attributes; widths of lines follow bores.
"""

import math
from collections.abc import Iterable, Mapping

from ezdxf import zoom
from ezdxf.document import Drawing
from ezdxf.enums import InsertUnits, TextEntityAlignment
from ezdxf.layouts.blocklayout import BlockLayout
from ezdxf.layouts.layout import Modelspace
from shapely.geometry import LineString, Polygon

from rillwright.model.ground import Ground
from rillwright.model.plan import Head, Pipe, Plan
from rillwright.model.site import AREA_KINDS, AreaKind, HeadClass
from rillwright.model.throws import strip_outline
from rillwright.physics.units import FOOT, show
from rillwright.report.dxf import dxf_bytes, new_drawing
from rillwright.report.ground_drawn import contour_step, contours_at
from rillwright.report.palette import CAUTION, INK, MAIN, SLEEVE, SOFT, zone_colour
from rillwright.report.places_drawn import zones_named

__all__ = ["HEAD_FACTS", "plan_dxf"]

Point = tuple[float, float]

HEAD_FACTS = ("ID", "ZONE", "NOZZLE", "ARC", "FROM", "THROW", "FLOW", "PRESSURE")  # attributes of a head's block
_MARK = 0.25  # [m] half the side of a mark
_TEXT = 0.22  # [m] height of a text; _SMALL of a pipe's size
_SMALL = 0.14  # [m]
_OUTLINES: dict[AreaKind, str] = {  # the tints of the sheets are too pale for lines
    "lawn": "#5a8a3c",
    "bed": "#9a7442",
    "building": INK,
    "paving": SOFT,
    "water": "#3f7fb0",
    "keep-out": CAUTION,
    "roots": "#7d6a46",
}
_ZONE_LINES = ("CONTINUOUS", "DASHED", "DOT", "DASHDOT", "CENTER", "DIVIDE", "DASHDOT2", "PHANTOM")
_WIDTHS = (13, 18, 25, 35, 50, 70, 100, 140)  # [1/100 mm] that DXF knows


def plan_dxf(plan: Plan, ground: Ground) -> bytes:
    """Draw the plan at its true size and give the file's bytes; the same plan gives the same bytes."""
    return dxf_bytes(_Sheet(plan, ground).drawing)


class _Sheet:
    """One drawing as it grows, in the yard's units."""

    def __init__(self, plan: Plan, ground: Ground) -> None:
        us = plan.yard.units == "US"
        self.drawing: Drawing = new_drawing(InsertUnits.Feet if us else InsertUnits.Meters)
        self._space: Modelspace = self.drawing.modelspace()
        self._unit = FOOT if us else 1.0  # [m]
        self._plan, self._ground = plan, ground
        self._make_ground()
        self._make_trenches()
        self._make_pipes()
        self._make_throws()
        self._make_marks()
        self._make_heads()
        zoom.extents(self._space)

    def _layer(self, name: str, colour: str, *, line: str = "CONTINUOUS", wide: float = 0.18) -> str:
        """A layer by its name, made when it is first used."""
        if name not in self.drawing.layers:
            layer = self.drawing.layers.add(name, linetype=line)
            layer.rgb = (int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16))
            layer.dxf.lineweight = min(_WIDTHS, key=lambda known: abs(known - 100 * wide))
        return name

    def _at(self, point: Iterable[float]) -> tuple[float, ...]:
        return tuple(value / self._unit for value in point)

    def _path(self, points: Iterable[Point], layer: str, *, closed: bool = False) -> None:
        self._space.add_lwpolyline([self._at(p) for p in points], close=closed, dxfattribs={"layer": layer})

    def _words(self, words: str, at: Point, layer: str, *, high: float = _TEXT, turned: float = 0.0) -> None:
        text = self._space.add_text(
            words, height=high / self._unit, rotation=turned, dxfattribs={"layer": layer, "style": "Standard"}
        )
        text.set_placement(self._at(at), align=TextEntityAlignment.MIDDLE_CENTER)

    def _make_ground(self) -> None:
        """Areas as the yard has them, trees as their root zones, heights as points, contours at their height."""
        yard = self._plan.yard
        for kind in AREA_KINDS:
            self._layer(kind.upper(), _OUTLINES[kind], wide=0.35 if kind == "building" else 0.18)
        for area in yard.areas:
            self._path(area.outline, area.kind.upper(), closed=True)
            for hole in area.holes:
                self._path(hole, self._layer("HOLE", SOFT), closed=True)
            lawn = self._ground.each_lawn.get(area.id)
            middle = (
                lawn if lawn is not None and not lawn.is_empty else Polygon(area.outline, area.holes)
            ).representative_point()
            self._words(area.id, (middle.x, middle.y), self._layer("NAME", SOFT))
        for tree in yard.trees:
            layer = self._layer("TREE", "#7d6a46")
            self._space.add_circle(self._at(tree.at), tree.root_radius / self._unit, dxfattribs={"layer": layer})
        for spot in yard.spot_heights:
            at = self._at((*spot.at, spot.height))
            self._space.add_point(at, dxfattribs={"layer": self._layer("SPOT HEIGHT", SOFT)})
        step = contour_step(self._plan, self._ground)
        for level, line in contours_at(self._ground, step) if step else ():
            self._space.add_lwpolyline(
                [self._at(p) for p in line.coords],
                dxfattribs={"layer": self._layer("CONTOUR", "#8a7f6a"), "elevation": level / self._unit},
            )

    def _make_trenches(self) -> None:
        for trench in self._plan.trenches:
            self._path(trench.path, self._layer("TRENCH", SOFT, line="DASHED2"))
            if trench.sleeve:
                self._path(trench.path, self._layer("SLEEVE", SLEEVE, wide=1.4))

    def _make_pipes(self) -> None:
        """Each pipe on the main's layer or its zone's, with its name, size and material along its longest stretch."""
        zones = {zone.id: n for n, zone in enumerate(self._plan.zones)}
        for pipe in self._plan.pipes:
            wide = 20 * pipe.bore
            if pipe.zone is None:
                layer = self._layer("MAIN", MAIN, wide=2 * wide)
            else:
                n = zones[pipe.zone]
                layer = self._layer(f"LATERAL {pipe.zone}", zone_colour(n), line=_ZONE_LINES[n % 8], wide=wide)
            self._path(pipe.path, layer)
            self._name_pipe(pipe)

    def _name_pipe(self, pipe: Pipe) -> None:
        pieces = [LineString(pair) for pair in zip(pipe.path, pipe.path[1:], strict=False)]
        longest = max(pieces, key=lambda piece: piece.length)
        (x0, y0), (x1, y1) = longest.coords
        turned = math.degrees(math.atan2(y1 - y0, x1 - x0))
        turned -= 180 * round(turned / 180)  # never upside down
        aside = math.radians(turned + 90)
        middle = longest.interpolate(0.5, normalized=True)
        at = (middle.x + _SMALL * math.cos(aside), middle.y + _SMALL * math.sin(aside))
        words = f"{pipe.id}: {pipe.size} {pipe.material}"
        self._words(words, at, self._layer("PIPE SIZE", MAIN), high=_SMALL, turned=turned)

    def _make_throws(self) -> None:
        nozzles = {nozzle.id: nozzle for nozzle in self._plan.nozzles}
        for head in self._plan.heads:
            layer = self._layer("THROW", SOFT)
            if head.arc >= 359.9:
                self._space.add_circle(self._at(head.at), head.radius / self._unit, dxfattribs={"layer": layer})
            elif head.arc > 0:
                self._sector(head, layer)
            else:
                self._path(list(strip_outline(head, nozzles[head.nozzle]).exterior.coords)[:-1], layer, closed=True)

    def _sector(self, head: Head, layer: str) -> None:
        """Two radii and a true arc, by the bulge of its chord: the tangent of a quarter of its angle."""
        bulge = math.tan(math.radians(head.arc) / 4)
        ends = [_polar(head.at, head.radius, angle) for angle in (head.arc_start, head.arc_start + head.arc)]
        points = [(*self._at(head.at), 0.0), (*self._at(ends[0]), bulge), (*self._at(ends[1]), 0.0)]
        self._space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})

    def _make_marks(self) -> None:
        """Water entry, controller and valve places as blocks, each with what it is as an attribute."""
        yard = self._plan.yard
        marks = [("WATER ENTRY", yard.water_entry.at, "water entry")]
        marks += [("CONTROLLER", yard.controller.at, "controller")] if yard.controller.at else []
        marks += [("VALVE PLACE", p.at, f"{p.id}: {zones_named(p, self._plan)}") for p in self._plan.places]
        for name, at, words in marks:
            layer = self._layer(name, MAIN, wide=0.35)
            if name not in self.drawing.blocks:
                self._block(name, _square(_MARK), ("ID",), crossed=name == "VALVE PLACE")
            self._insert(name, at, layer, {"ID": words})

    def _make_heads(self) -> None:
        """One block for each class of head."""
        zone_of = {head: zone.id for zone in self._plan.zones for head in zone.heads}
        for head in self._plan.heads:
            name = f"HEAD {head.head_class.upper()}"
            if name not in self.drawing.blocks:
                self._block(name, _SHAPES[head.head_class], HEAD_FACTS)
            facts = _facts(head, zone_of.get(head.id, ""), self._plan)
            self._insert(name, head.at, self._layer("HEAD", MAIN, wide=0.25), facts)

    def _block(self, name: str, shape: list[Point], facts: tuple[str, ...], *, crossed: bool = False) -> None:
        """A block of an outline with attributes, of which the first is seen."""
        block: BlockLayout = self.drawing.blocks.new(name)
        points = [self._at(p) for p in shape]
        block.add_lwpolyline(points, close=True)
        if crossed:
            block.add_line(points[0], points[2])
        for row, fact in enumerate(facts):
            at = self._at((1.4 * _MARK, _MARK - 1.4 * row * _SMALL))
            attributes = {"height": _TEXT / self._unit, "invisible": int(row > 0)}
            definition = block.add_attdef(fact, at, dxfattribs=attributes)
            definition.is_invisible = row > 0

    def _insert(self, block: str, at: Point, layer: str, facts: Mapping[str, str]) -> None:
        insert = self._space.add_blockref(block, self._at(at), dxfattribs={"layer": layer})
        insert.add_auto_attribs(dict(facts))


def _facts(head: Head, zone: str, plan: Plan) -> dict[str, str]:
    """What a head's block says, in the yard's units; its arc runs clockwise from a direction from north."""
    system = plan.yard.units
    first = (plan.yard.north - head.arc_start - head.arc) % 360
    values = (
        head.id,
        zone,
        head.nozzle,
        "strip" if head.arc == 0 else show(head.arc, "angle", system),
        show(first, "angle", system),
        show(head.radius, "length", system),
        show(head.flow, "flow", system),
        show(head.pressure, "pressure", system),
    )
    return dict(zip(HEAD_FACTS, values, strict=True))


def _square(half: float) -> list[Point]:
    return [(-half, -half), (half, -half), (half, half), (-half, half)]


def _polar(at: Point, radius: float, angle: float) -> Point:
    return (at[0] + radius * math.cos(math.radians(angle)), at[1] + radius * math.sin(math.radians(angle)))


_SHAPES: dict[HeadClass, list[Point]] = {  # outlines of heads [m], as the plan sheet's marks
    "spray": [_polar((0, 0), 0.6 * _MARK, 22.5 * n) for n in range(16)],
    "rotary": [_polar((0, 0), 0.7 * _MARK, 90 + 120 * n) for n in range(3)],
    "small rotor": _square(0.5 * _MARK),
    "mid rotor": [_polar((0, 0), 0.7 * _MARK, 90 * n) for n in range(4)],
    "strip": [(0.7 * _MARK * x, 0.3 * _MARK * y) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))],
}
