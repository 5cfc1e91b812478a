"""The base of every sheet that is drawn to scale: window, ground, match lines, key plan, scale bar and north."""

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, MultiLineString, box
from shapely.geometry.base import BaseGeometry

from rillwright.report.column import Column, draw_furniture
from rillwright.report.labels import EDGE, LabelBoard
from rillwright.report.palette import INK, SOFT
from rillwright.report.pipes_drawn import Path
from rillwright.report.scale import Extent
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.tiles import Side, Tile, tiles_of
from rillwright.report.svg import Svg, number, polygon_path
from rillwright.report.text import SMALL, TEXT

__all__ = ["MapPage", "map_pages"]

_KEY_HIGH = 34.0  # [mm] of the key plan
_FURNITURE = 26.0  # [mm] of the column's foot
_FIRST = 2.6  # [mm] from the margin to the first line of the column
_MATCH_DASH = "7 1.2 1.2 1.2 1.2 1.2"


@dataclass(frozen=True, slots=True)
class MapPage:
    """One part of the site on its sheet, ready to be drawn on."""

    svg: Svg
    tile: Tile
    board: LabelBoard
    column: Column

    def legend(self) -> Column:
        """The column, to be written in: what follows is not cut off at the window."""
        self.svg.layer("column")
        return self.column

    def inside(self, paths: dict[str, Path]) -> dict[str, Path]:
        """What of some paths lies in the window: of each the longest piece."""
        window = box(*self.tile.window)
        found: dict[str, Path] = {}
        for name, path in paths.items():
            part = shapely.intersection(LineString(path), window) if len(path) > 1 else LineString()
            pieces = part.geoms if isinstance(part, MultiLineString) else [part]
            best = max(pieces, key=lambda piece: piece.length)
            if isinstance(best, LineString) and best.length > 0:
                found[name] = list(best.coords)
        return found


def map_pages(book: Book, title: str, layers: Sequence[str], *, about: Sequence[Path] | None = None) -> list[MapPage]:
    """Open a sheet for each part of the site; layers are cut off at its window, in this order from the ground up.

    Parameters: about, paths [m] that the sheets are about: parts that hold none of them get no sheet; None for all.
    """
    told = book.told
    extent = _extent(book)
    tiles = tiles_of(extent, told.paper, system=told.plan.yard.units, drawn=told.ground.site, scale=told.scale)
    lines = None if about is None else shapely.union_all([LineString(path) for path in about])
    held = [tile for tile in tiles if lines is None or _lies_in(lines, tile)]
    return [_opened(book, title, layers, tile, tiles) for tile in held]


def _lies_in(lines: BaseGeometry, tile: Tile) -> bool:
    """Whether some of the lines runs in a part, not only up to its edge; lines without length lie where they are."""
    here = lines.intersection(box(*tile.site))
    return here.length > 0 if lines.length > 0 else not here.is_empty


def _extent(book: Book) -> Extent:
    """Everything that is drawn but throws: the ground, and what stands beside it."""
    plan, yard = book.told.plan, book.told.plan.yard
    points = [yard.water_entry.at, *(head.at for head in plan.heads), *(at for pipe in plan.pipes for at in pipe.path)]
    points += [yard.controller.at] if yard.controller.at else []
    x0, y0, x1, y1 = book.told.ground.extent
    xs, ys = zip(*points, strict=True)
    return (min(x0, *xs), min(y0, *ys), max(x1, *xs), max(y1, *ys))


def _opened(book: Book, title: str, layers: Sequence[str], tile: Tile, tiles: Sequence[Tile]) -> MapPage:
    name = title if len(tiles) == 1 else f"{title}, part {tile.number} of {len(tiles)}"
    svg = book.leaf(name, sheet=tile.view.sheet, scale=tile.view.name).svg
    left, top, right, bottom = tile.window
    clip = ET.Element("clipPath", {"id": "window"})
    ET.SubElement(
        clip,
        "rect",
        {"x": number(left), "y": number(top), "width": number(right - left), "height": number(bottom - top)},
    )
    address = svg.define(clip)
    for layer in layers:
        svg.layer(layer, clip=address)
    column = Column(svg, tile.view)
    draw_furniture(column, book.told.plan, tile.view, cautions=False)
    if len(tiles) > 1:
        _match_lines(svg, tile)
        _key_plan(book, column, tile, tiles)
    column.y = tile.view.sheet.margin + _FIRST
    return MapPage(svg, tile, LabelBoard((left + EDGE, top + EDGE, right - EDGE, bottom - EDGE)), column)


def _match_lines(svg: Svg, tile: Tile) -> None:
    """Lines along which the next parts join, each with the number of its part outside."""
    svg.layer("match-lines")
    left, top, right, bottom = tile.window
    lines: dict[Side, tuple[tuple[float, float], tuple[float, float]]] = {
        "left": ((left, top), (left, bottom)),
        "right": ((right, top), (right, bottom)),
        "top": ((left, top), (right, top)),
        "bottom": ((left, bottom), (right, bottom)),
    }
    away: dict[Side, tuple[float, float]] = {"left": (-3.6, 0), "right": (3.6, 0), "top": (0, -3.4), "bottom": (0, 3.4)}
    for side, part in sorted(tile.beside.items()):
        (x0, y0), (x1, y1) = lines[side]
        svg.line([(x0, y0), (x1, y1)], stroke=INK, stroke_width=0.5, stroke_dasharray=_MATCH_DASH)
        x, y = (x0 + x1) / 2 + away[side][0], (y0 + y1) / 2 + away[side][1]
        svg.circle(x, y, 2.5, fill="#ffffff", stroke=INK, stroke_width=0.3)
        svg.text(x, y + 0.95, str(part), TEXT, fill=INK, text_anchor="middle", font_weight="bold")


def _key_plan(book: Book, column: Column, tile: Tile, tiles: Sequence[Tile]) -> None:
    """The whole site small, with its parts numbered and this one shaded, over the furniture."""
    svg, ground = column.svg, book.told.ground
    svg.layer("key-plan")
    x0, y0, x1, y1 = _extent(book)
    scale = min((column.wide - 4) / (x1 - x0), (_KEY_HIGH - 2) / (y1 - y0))
    left, foot = column.x + 2, tile.view.sheet.foot - _FURNITURE

    def xy(x: float, y: float) -> tuple[float, float]:
        return left + (x - x0) * scale, foot - (y - y0) * scale

    for one in tiles:
        (a, b), (c, d) = xy(one.site[0], one.site[3]), xy(one.site[2], one.site[1])
        shade = "#c9ced3" if one is tile else "none"
        svg.rect(a, b, c - a, d - b, fill=shade, stroke=INK, stroke_width=0.25)
    svg.path(polygon_path(ground.site, xy), fill="none", stroke=SOFT, stroke_width=0.25)
    for one in tiles:
        x, y = xy((one.site[0] + one.site[2]) / 2, (one.site[1] + one.site[3]) / 2)
        svg.text(x, y + 0.9, str(one.number), SMALL, halo=True, fill=INK, text_anchor="middle", font_weight="bold")
    high = (y1 - y0) * scale
    svg.text(column.x, foot - high - 2.2, "Match lines lead to the parts:", SMALL, fill=INK)
    column.foot = foot - high - 6
