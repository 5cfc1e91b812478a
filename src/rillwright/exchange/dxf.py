"""Yards drawn in CAD, from DXF: closed outlines and circles on layers named for what they are.

A drawing has no order of what lies on what, so a smaller outline lies over a larger one.
"""

import itertools
import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from ezdxf import path as dxf_path
from ezdxf import units as dxf_units
from ezdxf.document import Drawing as DxfDocument
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import readfile
from ezdxf.math import Vec3
from shapely.geometry import Polygon

from rillwright.errors import InputError, Problem, YardError
from rillwright.exchange.drawing import Drawing, read_facts, to_document
from rillwright.exchange.yard_file import check_file
from rillwright.exchange.yard_problems import nearest, shorten
from rillwright.model.site import AREA_KINDS, Yard
from rillwright.physics import units

__all__ = ["FLATTENING", "LAYERS", "dxf_pieces", "read_dxf"]

FLATTENING = 0.005  # [m] how far a chord may stray from its arc
CLOSED_WITHIN = 0.001  # [m] first and last point of an outline that is not flagged as closed

IGNORE = "ignore"

LAYERS: Mapping[str, str] = {
    **{kind: kind for kind in AREA_KINDS},
    "tree": "tree",
    "spot": "spot height",
    "spot height": "spot height",
    "entry": "water entry",
    "water entry": "water entry",
    "controller": "controller",
    "throw": IGNORE,  # closed outlines of a plan's own drawing, see report/plan_dxf
    "hole": IGNORE,
}

_OUTLINES = ("LWPOLYLINE", "POLYLINE", "CIRCLE")
_LOOSE = ("LINE", "ARC", "SPLINE", "ELLIPSE")  # parts of an outline that were not joined

Points = list[tuple[float, float]]


def read_dxf(path: Path, *, facts: Path, layers: Mapping[str, str] | None = None) -> Yard:
    """Read a yard from a DXF drawing.

    Parameters: path; facts, a yard file without areas; layers, what further layers hold: layer name to a kind of
    ground, 'tree', 'spot height', 'water entry', 'controller' or 'ignore'. Layers named as LAYERS need no entry.
    On 'tree' a circle is the root zone; on 'spot height' the height is the text, or the point's z.
    Errors: InputError when a file cannot be read; YardError that names the entity by type, handle and layer.
    """
    known = read_facts(facts)
    return _drawn(path, known["units"], layers).yard(known, source=path.name)


def dxf_pieces(path: Path, *, system: units.System, layers: Mapping[str, str] | None = None) -> dict[str, Any]:
    """Read the pieces of a drawing by their keys in a yard document, in the units of a system.

    Parameters and errors as for read_dxf.
    """
    return _drawn(path, system, layers).pieces(source=path.name)


def _drawn(path: Path, system: units.System, layers: Mapping[str, str] | None) -> Drawing:
    document = _open(path)
    reader = _Reader(_scale(document, path.name), system, _names(layers or {}, path.name))
    for entity in document.modelspace():
        reader.entity(entity)
    return reader.finish()


def _open(path: Path) -> DxfDocument:
    check_file(path)
    try:
        return readfile(str(path))
    except Exception as error:  # a damaged file can stop the parser anywhere, in many ways
        said = str(error).splitlines()[0][:120] if str(error) else type(error).__name__
        raise InputError(f"{path.name} is not a DXF drawing that can be read: {said}") from None


def _scale(document: DxfDocument, source: str) -> float:
    """Metres in one unit of the drawing."""
    if document.units == 0:
        do = "Set the drawing's unit ($INSUNITS: 2 is feet, 1 inches, 6 metres, 4 millimetres) and save it again"
        raise YardError(source, (Problem("header $INSUNITS", "the drawing has no unit", do),))
    try:
        return float(dxf_units.conversion_factor(InsertUnits(document.units), InsertUnits.Meters))
    except (LookupError, ValueError, TypeError):
        do = "Use 2 (feet), 1 (inches), 6 (metres) or 4 (millimetres)"
        raise YardError(source, (Problem("header $INSUNITS", str(document.units), do),)) from None


def _names(layers: Mapping[str, str], source: str) -> dict[str, str]:
    allowed = tuple(dict.fromkeys(LAYERS.values()))
    for layer, kind in layers.items():
        if kind not in allowed:
            raise YardError(source, (Problem(f"layer {layer}", shorten(kind), nearest(kind, allowed)),))
    return {**LAYERS, **{layer.casefold(): kind for layer, kind in layers.items()}}


class _Reader:
    """Reads entities one by one into a drawing."""

    def __init__(self, scale: float, system: units.System, layers: Mapping[str, str]) -> None:
        self.scale = scale
        self.system = system
        self.layers = layers
        self.drawing = Drawing()
        self._outlines: list[tuple[str, Points, str]] = []  # kind, points [m], place

    def entity(self, entity: DXFGraphic) -> None:
        """Read one entity, or note what is wrong with it."""
        if not entity.dxf.is_supported("layer"):  # an entity type that nobody knows
            return
        layer, sort = entity.dxf.layer, entity.dxftype()
        place = f"{sort} {entity.dxf.handle} on layer {layer}"
        kind = self.layers.get(layer.casefold(), "")
        if kind in AREA_KINDS:
            self._area(entity, kind, place)
        elif kind in ("tree", "spot height", "water entry", "controller"):
            self._mark(entity, kind, place)
        elif not kind and sort in _OUTLINES and self._ring(entity):
            do = f"{nearest(layer, self.layers)}. Rename the layer, or say what it holds: --layer NAME=KIND"
            self.drawing.refuse(place, "an outline on a layer that names no kind of ground", do)

    def finish(self) -> Drawing:
        """Lay smaller outlines over larger ones."""
        for kind, points, place in sorted(self._outlines, key=lambda one: -abs(Polygon(one[1]).area)):
            piece = {"id": self.drawing.name(kind), "kind": kind, "outline": to_document(points, self.system)}
            self.drawing.add(kind, piece, place)
        if not self._outlines and not self.drawing.problems:
            names = ", ".join(kind.upper() for kind in AREA_KINDS)
            self.drawing.refuse("the drawing", "no outline on a known layer", f"Name layers for their kind: {names}")
        return self.drawing

    def _ring(self, entity: DXFGraphic) -> Points | None:
        """Points of a closed outline [m], arcs as chords; None when it is open or no outline."""
        try:
            curve = dxf_path.make_path(entity)
        except TypeError:  # a mesh is a POLYLINE too
            return None
        if len(curve) == 0:
            return None
        points = [(v.x * self.scale, v.y * self.scale) for v in curve.flattening(FLATTENING / self.scale)]
        if math.dist(points[0], points[-1]) > CLOSED_WITHIN:
            return None
        kept = [p for p, after in itertools.pairwise(points) if math.dist(p, after) > CLOSED_WITHIN]
        return kept if len(kept) > 2 else None

    def _area(self, entity: DXFGraphic, kind: str, place: str) -> None:
        sort = entity.dxftype()
        if sort in _LOOSE:
            self.drawing.refuse(place, "a loose piece of line", "Join the pieces into one closed polyline")
        if sort not in _OUTLINES:
            return
        ring = self._ring(entity)
        if ring is None:
            self.drawing.refuse(place, "an outline that is not closed", "Close the polyline")
            return
        self._outlines.append((kind, ring, place))

    def _mark(self, entity: DXFGraphic, kind: str, place: str) -> None:
        places: dict[str, Callable[[], object]] = {
            "POINT": lambda: entity.dxf.location,
            "INSERT": lambda: entity.dxf.insert,
            "TEXT": lambda: entity.dxf.insert,
            "MTEXT": lambda: entity.dxf.insert,
            "CIRCLE": lambda: entity.dxf.center,
        }
        sort = entity.dxftype()
        if sort not in places:
            self.drawing.refuse(place, f"a {sort} that is no {kind}", f"Draw a point (POINT) for each {kind}")
            return
        x, y, z = Vec3(places[sort]()) * self.scale
        piece: dict[str, object] = {"at": to_document([(x, y)], self.system)[0]}
        if kind == "tree":
            piece["id"] = self.drawing.name(kind)
            if sort == "CIRCLE":
                piece["root_radius"] = to_document([(entity.dxf.radius * self.scale,)], self.system)[0][0]
        elif kind == "spot height":
            piece["height"] = self._height(entity, z)
        self.drawing.add(kind, piece, place)

    def _height(self, entity: DXFGraphic, z: float) -> float | str:
        """Height of a spot: a bare number in the drawing's unit, or a text with its own unit."""
        sort = entity.dxftype()
        if sort not in ("TEXT", "MTEXT"):
            return units.to_system(z, "length", self.system)
        text = (entity.dxf.text if sort == "TEXT" else entity.plain_text()).strip()  # type: ignore[attr-defined]
        try:
            return units.to_system(float(text) * self.scale, "length", self.system)
        except ValueError:
            return str(text)
