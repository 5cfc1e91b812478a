"""The manifold sheet, true to scale: three views with dimensions, the cut list, fittings, heights and cautions."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rillwright.model.manifold import Manifold, PieceKind
from rillwright.model.plan import Plan
from rillwright.physics.units import System
from rillwright.report.manifold_list import manifold_cautions, manifold_told
from rillwright.report.manifold_views import Dimension, ViewDrawn, cut_list, fittings_of, views_of
from rillwright.report.palette import CAUTION, INK, MAIN, SOFT, zone_colour
from rillwright.report.scale import SHEETS, Scale, Sheet
from rillwright.report.svg import Svg
from rillwright.report.text import HEADING, SMALL, TEXT, TITLE, text_width, wrap

__all__ = ["draw_manifold", "draw_views", "fitted", "manifold_lines"]

Line = tuple[str, float, str, bool]  # words, size [mm], colour, bold

_RATIOS: dict[System, tuple[tuple[float, str], ...]] = {
    "metric": tuple((float(r), f"1:{r}") for r in (2, 5, 10, 15, 20, 25, 50, 100)),
    "US": (
        (2, "6 in = 1 ft"),
        (4, "3 in = 1 ft"),
        (8, "1-1/2 in = 1 ft"),
        (12, "1 in = 1 ft"),
        (16, "3/4 in = 1 ft"),
        (24, "1/2 in = 1 ft"),
        (48, "1/4 in = 1 ft"),
        (96, "1/8 in = 1 ft"),
    ),
}
_UNITS: dict[System, str] = {"metric": "millimetres", "US": "inches"}
_SMALLEST = 16.0  # ratio up to which the small paper is kept
_ROW = 6.5  # [mm] from a view to its first row of dimensions, and from row to row
_BESIDE = 34.0  # [mm] between two views, for dimensions and words
_TOP = 9.0  # [mm] over the first view, for its name
OVER, BEYOND = 0.8, -SMALL  # [mm] from a dimension line to its words
_FILL: dict[PieceKind, str] = {
    "pipe": "#ffffff",
    "valve": "#dfe9f2",
    "isolating valve": "#dfe9f2",
    "drain valve": "#dfe9f2",
    "device": "#efe6d8",
    "blow-out fitting": "#efe6d8",
    "union": "#d5d9dd",
}
_FITTING = "#e6e8ea"


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a view lies on paper."""

    view: ViewDrawn
    left: float  # [mm] of its least u
    foot: float  # [mm] of its least v
    scale: float  # [mm] for a mark

    def at(self, u: float, v: float) -> tuple[float, float]:
        """Paper place of a point of the view."""
        return self.left + (u - self.view.low[0]) * self.scale, self.foot - (v - self.view.low[1]) * self.scale


def draw_manifold(made: Manifold, plan: Plan) -> str:
    """Draw a manifold on one sheet and return SVG text."""
    sheet, (ratio, name) = fitted(made, SHEETS[made.system])
    svg = Svg(sheet.width, sheet.height, name="manifold", title=f"{plan.yard.name}: manifold {made.place} {name}")
    svg.rect(0, 0, sheet.width, sheet.height, fill="#ffffff")
    draw_views(svg, made, plan, sheet, ratio)
    _column(svg, made, plan, sheet, name)
    return svg.render()


def draw_views(svg: Svg, made: Manifold, plan: Plan, sheet: Sheet, ratio: float) -> None:
    """Draw the three views with their dimensions in the field of a sheet."""
    zones = {zone.id: zone_colour(number) for number, zone in enumerate(plan.zones)}
    for place in _places(made, views_of(made), sheet, ratio):
        _draw_view(svg, place, zones)


def _mark(made: Manifold, ratio: float) -> float:
    """Paper millimetres of a mark."""
    return 1000 * made.grid.metres(1) / ratio


def fitted(made: Manifold, sheets: Sequence[Sheet]) -> tuple[Sheet, Scale]:
    """The first of some papers that is large enough, and the largest customary scale at which the views fit it."""
    above, front, side = views_of(made)
    found = None
    for sheet in sheets:
        left, top, right, bottom = sheet.field
        for ratio, name in _RATIOS[made.system]:
            mark = _mark(made, ratio)
            words = [text_width(f"Seen {side.name}", HEADING, bold=True)]
            words += [text_width(one.words, SMALL) for one in side.dimensions]
            wide = 3.0 + _levels_wide(front) + mark * (front.high[0] - front.low[0]) + _BESIDE
            wide += max(mark * (side.high[0] - side.low[0]), *words)
            high = mark * (above.high[1] - above.low[1] + front.high[1] - front.low[1]) + 5 * _ROW + 2 * _TOP
            found = (sheet, (ratio, name))
            if wide <= right - left and high <= bottom - top:
                break
        if found is not None and found[1][0] <= _SMALLEST:
            break
    assert found is not None
    return found


def _places(made: Manifold, views: tuple[ViewDrawn, ...], sheet: Sheet, ratio: float) -> tuple[_Place, ...]:
    above, front, side = views
    left, top, _, _ = sheet.field
    mark, begin = _mark(made, ratio), left + 3.0 + _levels_wide(front)
    first = top + _TOP + (above.high[1] - above.low[1]) * mark
    second = first + 3 * _ROW + _TOP + (front.high[1] - front.low[1]) * mark
    beside = begin + (front.high[0] - front.low[0]) * mark + _BESIDE
    return (
        _Place(above, begin, first, mark),
        _Place(front, begin, second, mark),
        _Place(side, beside, second - (side.low[1] - front.low[1]) * mark, mark),
    )


def _levels_wide(front: ViewDrawn) -> float:
    """Room [mm] at the left for the words of the levels."""
    return max((text_width(level.words, SMALL) for level in front.levels), default=0.0) + 3.0


def _draw_view(svg: Svg, place: _Place, zones: dict[str, str]) -> None:
    view = place.view
    x, y = place.at(view.low[0], view.high[1])
    svg.text(x, y - 4.0, f"Seen {view.name}", HEADING, fill=INK, font_weight="bold")
    for one in view.outlines:
        (x0, y1), (x1, y0) = place.at(*one.low), place.at(*one.high)
        stroke = zones.get(one.label, MAIN)
        style: dict[str, str | float] = {"fill": _FILL.get(one.kind, _FITTING), "stroke": stroke, "stroke_width": 0.25}
        svg.rect(x0, y0, x1 - x0, y1 - y0, fill_opacity=0.85, **style)
    for level in view.levels:
        (x0, y0), (x1, _) = place.at(view.low[0], level.at), place.at(view.high[0], level.at)
        svg.line([(x0 - 1.5, y0), (x1 + 3, y0)], stroke=SOFT, stroke_width=0.25, stroke_dasharray="2 1")
        if view.name == "from the front":
            svg.text(x0 - 2.5, y0 + 0.36 * SMALL, level.words, SMALL, fill=SOFT, text_anchor="end")
    _letters(svg, place, zones)
    for one_dimension in view.dimensions:
        _dimension(svg, place, one_dimension)
    for along in ("u", "v"):
        for row in sorted({one.row for one in view.dimensions if one.along == along}):
            _words(svg, place, sorted((d for d in view.dimensions if (d.along, d.row) == (along, row)), key=_begin))


def _letters(svg: Svg, place: _Place, zones: dict[str, str]) -> None:
    """Name valves and pipes where their names have room and cover no other."""
    taken: list[tuple[float, float]] = []
    for one in sorted(place.view.outlines, key=lambda one: one.kind == "pipe"):
        if not one.label:
            continue
        (x0, y1), (x1, y0) = place.at(*one.low), place.at(*one.high)
        x, y = (x0 + x1) / 2, (y0 + y1) / 2 + 0.36 * SMALL
        wide = text_width(one.label, SMALL, bold=True)
        if any(abs(x - a) < wide + 1.0 and abs(y - b) < 1.2 * SMALL for a, b in taken):
            continue
        taken.append((x, y))
        colour = zones.get(one.label, INK)
        svg.text(x, y, one.label, SMALL, halo=True, fill=colour, text_anchor="middle", font_weight="bold")


def _dimension(svg: Svg, place: _Place, one: Dimension) -> None:
    """A dimension line with its words over it, along u under the view, along v at its right."""
    view = place.view
    if one.along == "u":
        begin, end = place.at(one.begin, view.low[1]), place.at(one.end, view.low[1])
        off = (0.0, _ROW * one.row)
    else:
        begin, end = place.at(view.high[0], one.begin), place.at(view.high[0], one.end)
        off = (_ROW * one.row, 0.0)
    base = [(x + off[0], y + off[1]) for x, y in (begin, end)]
    away = (1.0, 0.0) if off[0] else (0.0, 1.0)
    for (x, y), (bx, by) in zip((begin, end), base, strict=True):
        near, far = (x + away[0], y + away[1]), (bx + 0.8 * away[0], by + 0.8 * away[1])
        svg.line([near, far], stroke=SOFT, stroke_width=0.18)
        svg.line([(bx - 0.7, by + 0.7), (bx + 0.7, by - 0.7)], stroke=INK, stroke_width=0.3)
    svg.line(base, stroke=SOFT, stroke_width=0.18)


def _begin(one: Dimension) -> int:
    return one.begin


def _words(svg: Svg, place: _Place, chain: Sequence[Dimension]) -> None:
    """The words of dimensions on one line: over it where they fit between the ends, else beyond, or where room is."""
    taken = {OVER: -math.inf, BEYOND: -math.inf}
    for one in chain:
        wide, middle = text_width(one.words, SMALL), (one.begin + one.end) / 2 * place.scale
        lanes = (OVER, BEYOND) if wide <= one.length * place.scale - 0.5 else (BEYOND, OVER)
        free = (lane for lane in lanes if taken[lane] + 0.6 <= middle - wide / 2)
        lane = next(free, min(lanes, key=taken.__getitem__))
        taken[lane] = middle + wide / 2
        _word(svg, place, one, lane)


def _word(svg: Svg, place: _Place, one: Dimension, lift: float) -> None:
    half = (one.begin + one.end) / 2
    if one.along == "u":
        x, y = place.at(half, place.view.low[1])
        svg.text(x, y + _ROW * one.row - lift, one.words, SMALL, fill=INK, text_anchor="middle", halo=True)
    else:
        x, y = place.at(place.view.high[0], half)
        x += _ROW * one.row - lift
        turn = f"rotate(-90 {x:.3f} {y:.3f})"
        svg.text(x, y, one.words, SMALL, fill=INK, text_anchor="middle", transform=turn, halo=True)


def _column(svg: Svg, made: Manifold, plan: Plan, sheet: Sheet, scale: str) -> None:
    """Everything in words, at the right."""
    x = sheet.width - sheet.margin - sheet.column + 6
    wide, y = sheet.column - 6, sheet.margin + 5.0
    svg.line([(x - 3, sheet.margin), (x - 3, sheet.height - sheet.margin)], stroke="#9aa0a6", stroke_width=0.2)
    lines: list[Line] = [(plan.yard.name, TITLE, INK, True)]
    lines += [(f"Manifold {made.place}, {scale} on {sheet.name}", HEADING, INK, False), *manifold_lines(made, plan)]
    for words, size, colour, bold in lines:
        y += 1.6 if size == HEADING and bold else 0.0
        for line in wrap(words, size, wide, bold=bold) or [""]:
            weight = "bold" if bold else "normal"
            svg.text(x, y, line, size, fill=colour, font_weight=weight)
            y += 1.38 * size


def manifold_lines(made: Manifold, plan: Plan) -> list[Line]:
    """What stands beside the views: figures, cut list, fittings, findings and cautions."""
    lines: list[Line] = [(f"Lengths in {_UNITS[made.system]}", TEXT, SOFT, False), ("", TEXT, INK, False)]
    lines += [(f"{name}: {value}", TEXT, INK, False) for name, value in manifold_told(made, plan)]
    lines += [("Pipes to cut, measured to the ends", HEADING, INK, True)]
    for cut in cut_list(made):
        lines.append((f"{cut.letter}  {len(cut.runs)} x {made.grid.show(cut.length)}  {cut.what}", TEXT, INK, False))
    lines += [("Fittings and devices", HEADING, INK, True)]
    lines += [(", ".join(f"{number} {what}" for what, number in fittings_of(made).items()), TEXT, INK, False)]
    if made.findings:
        lines += [("Mend before you cut", HEADING, CAUTION, True)]
        lines += [(f"{finding.what} {finding.do}", TEXT, CAUTION, False) for finding in made.findings]
    lines += [("", TEXT, INK, False), *((caution, SMALL, CAUTION, False) for caution in manifold_cautions(made))]
    return lines
