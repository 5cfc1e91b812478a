"""A small writer of SVG in paper millimetres."""

import math
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterable, Sequence

from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from rillwright.report.text import FONT

__all__ = ["Svg", "number", "polygon_path", "sector_path"]

Point = tuple[float, float]


def number(value: float) -> str:
    """Print a coordinate with at most three decimals."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


class Svg:
    """An SVG sheet; coordinates and sizes are millimetres on paper."""

    def __init__(self, width: float, height: float, *, name: str, title: str) -> None:
        """Name: goes before every id, so that several sheets can stand in one page."""
        self._name = name
        self._root = ET.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "width": f"{number(width)}mm",
                "height": f"{number(height)}mm",
                "viewBox": f"0 0 {number(width)} {number(height)}",
                "font-family": f"'{FONT}', sans-serif",
                "role": "img",
            },
        )
        ET.SubElement(self._root, "title").text = title
        self._layers: dict[str, ET.Element] = {}
        self._layer = self._root

    def layer(self, name: str, *, clip: str = "") -> None:
        """Start or go on with a named group; what follows goes into it. Groups lie in the order they are started.

        clip: the address of a clipping path, of a group that is started.
        """
        if name not in self._layers:
            cut = {"clip-path": clip} if clip else {}
            self._layers[name] = ET.SubElement(self._root, "g", {"id": f"{self._name}-{name}", **cut})
        self._layer = self._layers[name]

    def define(self, element: ET.Element) -> str:
        """Add a definition such as a pattern and give the address to use it by."""
        defs = self._root.find("defs")
        if defs is None:
            defs = ET.SubElement(self._root, "defs")
        element.set("id", f"{self._name}-{element.get('id')}")
        defs.append(element)
        return f"url(#{element.get('id')})"

    def path(self, d: str, **style: str | float) -> None:
        """Draw a path."""
        self._add("path", {"d": d}, style)

    def line(self, points: Iterable[Point], **style: str | float) -> None:
        """Draw an open line through points."""
        style.setdefault("fill", "none")
        style.setdefault("stroke_linejoin", "round")
        text = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        self._add("polyline", {"points": text}, style)

    def circle(self, x: float, y: float, r: float, **style: str | float) -> None:
        """Draw a circle."""
        self._add("circle", {"cx": number(x), "cy": number(y), "r": number(r)}, style)

    def rect(self, x: float, y: float, width: float, height: float, **style: str | float) -> None:
        """Draw an upright rectangle."""
        place = {"x": number(x), "y": number(y), "width": number(width), "height": number(height)}
        self._add("rect", place, style)

    def polygon(self, points: Sequence[Point], **style: str | float) -> None:
        """Draw a closed polygon."""
        self._add("polygon", {"points": " ".join(f"{number(x)},{number(y)}" for x, y in points)}, style)

    def image(self, x: float, y: float, width: float, height: float, href: str, **style: str | float) -> None:
        """Place a picture given as a data address."""
        place = {"x": number(x), "y": number(y), "width": number(width), "height": number(height)}
        self._add("image", {**place, "href": href, "preserveAspectRatio": "none"}, style)

    def text(self, x: float, y: float, words: str, size: float, *, halo: bool = False, **style: str | float) -> None:
        """Print words with their baseline's left end at a point; a halo keeps them readable over lines."""
        if halo:
            style |= {"stroke": "#ffffff", "stroke_width": size * 0.22, "paint_order": "stroke"}
            style["stroke_linejoin"] = "round"
        element = self._add("text", {"x": number(x), "y": number(y), "font-size": number(size)}, style)
        element.text = words

    def render(self) -> str:
        """The SVG as text."""
        ET.indent(self._root)
        return ET.tostring(self._root, encoding="unicode") + "\n"

    def _add(self, tag: str, attributes: dict[str, str], style: dict[str, str | float]) -> ET.Element:
        shown = {k.replace("_", "-"): number(v) if isinstance(v, (int, float)) else v for k, v in style.items()}
        return ET.SubElement(self._layer, tag, {**attributes, **shown})


def polygon_path(shape: BaseGeometry, place: Callable[[float, float], Point]) -> str:
    """SVG path of polygons with holes, each point put where `place` says; use with fill-rule evenodd."""
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape] if isinstance(shape, Polygon) else []
    out: list[str] = []
    for part in parts:
        for ring in (part.exterior, *part.interiors):
            points = [place(x, y) for x, y in ring.coords[:-1]]
            if points:
                out.append("M" + " L".join(f"{number(x)} {number(y)}" for x, y in points) + " Z")
    return " ".join(out)


def sector_path(x: float, y: float, radius: float, start: float, arc: float) -> str:
    """SVG path of a circle sector on paper; angles [°] counter-clockwise as on the plan."""
    if arc >= 359.9:
        r = number(radius)
        return (
            f"M{number(x - radius)} {number(y)} a{r} {r} 0 1 0 {number(2 * radius)} 0 "
            f"a{r} {r} 0 1 0 {number(-2 * radius)} 0 Z"
        )
    first, last = math.radians(start), math.radians(start + arc)
    x1, y1 = x + radius * math.cos(first), y - radius * math.sin(first)
    x2, y2 = x + radius * math.cos(last), y - radius * math.sin(last)
    large = 1 if arc > 180 else 0
    r = number(radius)
    return f"M{number(x)} {number(y)} L{number(x1)} {number(y1)} A{r} {r} 0 {large} 0 {number(x2)} {number(y2)} Z"
