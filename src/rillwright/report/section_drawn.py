"""A long section on paper: ground and pipe with their heights over the pressures, at customary scales."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rillwright.model.section import Section
from rillwright.physics.units import System, to_system, unit_name
from rillwright.report.palette import INK, MAIN, SOFT
from rillwright.report.scale import scales
from rillwright.report.svg import Svg
from rillwright.report.text import SMALL, text_width

__all__ = ["SECTION_HIGH", "draw_section"]

Box = tuple[float, float, float, float]
Point = tuple[float, float]

SECTION_HIGH = 84.0  # [mm]
_LEFT = 17.0  # [mm] of an axis with its figures
_LEVELS, _PRESSURES = (9.0, 44.0), (50.0, 76.0)  # [mm] from the top: the two pictures
_TIMES = (1, 2, 5, 10, 20, 50, 100)  # heights may be drawn so many times as large as lengths


@dataclass(frozen=True, slots=True)
class _Axis:
    """Values to places on paper."""

    low: float  # value at `foot`
    unit: float  # [mm] of one
    foot: float  # [mm]

    def at(self, value: float) -> float:
        return self.foot - (value - self.low) * self.unit


def draw_section(svg: Svg, section: Section, box: Box, *, system: System) -> None:
    """Draw a section in a box SECTION_HIGH high: the numbers of its marks, levels, pressures under them."""
    left, top, right = box[0] + _LEFT, box[1], box[2] - 6
    long = section.points[-1].distance
    ratio, name = next(
        ((r, n) for r, n in scales(system) if long * 1000 / r <= right - left), (long * 1000 / (right - left), "fitted")
    )
    along = _Axis(0.0, -1000 / ratio, left)  # runs to the right
    xs = [along.at(point.distance) for point in section.points]
    levels, times = _levels(section, ratio, top)
    svg.text(box[0], top + SMALL, f"Lengths {name}, heights {times} times as large", SMALL, fill=INK)
    _grid(svg, levels, (left, xs[-1]), top + _LEVELS[0], "length", system)
    svg.line(_joined(xs, [levels.at(p.ground) for p in section.points]), stroke=SOFT, stroke_width=0.3)
    svg.line(_joined(xs, [levels.at(p.pipe) for p in section.points]), stroke=MAIN, stroke_width=0.7)
    most = max(max(p.static, p.working) for p in section.points)
    high = _PRESSURES[1] - _PRESSURES[0]
    pressures = _Axis(0.0, high / (1.08 * most), top + _PRESSURES[1])
    _grid(svg, pressures, (left, xs[-1]), top + _PRESSURES[0], "pressure", system)
    svg.line(
        _joined(xs, [pressures.at(p.static) for p in section.points]),
        stroke=INK,
        stroke_width=0.3,
        stroke_dasharray="2 0.8",
    )
    svg.line(_joined(xs, [pressures.at(p.working) for p in section.points]), stroke=INK, stroke_width=0.5)
    _key(svg, box[0], top + SECTION_HIGH - 1.5)
    _marks(svg, section, along, top)


def _levels(section: Section, ratio: float, top: float) -> tuple[_Axis, int]:
    """The axis of heights, as many times as large as lengths as there is room for."""
    heights = [h for p in section.points for h in (p.ground, p.pipe)]
    low, span = min(heights), max(heights) - min(heights)
    room = _LEVELS[1] - _LEVELS[0] - 4
    fits = [times for times in _TIMES if span * 1000 * times / ratio <= room]
    times = max(fits) if fits else 1
    unit = 1000 * times / ratio if fits else room / span
    return _Axis(low, unit, top + _LEVELS[1] - 2), times


def _grid(svg: Svg, axis: _Axis, span: tuple[float, float], top: float, dimension: str, system: System) -> None:
    """Level lines at round figures, the figures at the left."""
    one = to_system(1.0, dimension, system) - to_system(0.0, dimension, system)
    low, high = (axis.low * one, (axis.low + (axis.foot - top) / axis.unit) * one)
    step = _round_step((high - low) * 5.0 / max(axis.foot - top, 1.0))
    for n in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1):
        y = axis.at(n * step / one)
        svg.line([(span[0], y), (span[1], y)], stroke="#c4cacf", stroke_width=0.12)
        words = f"{n * step:.10g}"
        svg.text(span[0] - 1, y + 0.9, words, SMALL, fill=INK, text_anchor="end")
    svg.text(span[1] + 1, axis.foot + 0.9, unit_name(dimension, system), SMALL, fill=SOFT)


def _round_step(least: float) -> float:
    """The least of 1, 2 and 5 times a power of ten that is no less."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(power * times for times in (1, 2, 5, 10) if power * times >= least * (1 - 1e-9))


def _joined(xs: Sequence[float], ys: Sequence[float]) -> list[Point]:
    return list(zip(xs, ys, strict=True))


def _key(svg: Svg, x: float, y: float) -> None:
    keys: tuple[tuple[str, dict[str, str | float]], ...] = (
        ("ground", {"stroke": SOFT, "stroke_width": 0.3}),
        ("pipe", {"stroke": MAIN, "stroke_width": 0.7}),
        ("static pressure", {"stroke": INK, "stroke_width": 0.3, "stroke_dasharray": "2 0.8"}),
        ("working pressure", {"stroke": INK, "stroke_width": 0.5}),
    )
    for words, style in keys:
        svg.line([(x, y - 0.9), (x + 7, y - 0.9)], **style)
        svg.text(x + 8.5, y, words, SMALL, fill=INK)
        x += 8.5 + text_width(words, SMALL) + 5


def _marks(svg: Svg, section: Section, along: _Axis, top: float) -> None:
    """Numbers of the marks on top, those at one place or too close together in one label."""
    y = top + _LEVELS[0] - 1.2
    groups: list[tuple[float, int, int]] = []  # place [mm], first and last number
    for number, mark in enumerate(section.marks, start=1):
        x = along.at(mark.distance)
        if groups and x - groups[-1][0] < 9.0:
            groups[-1] = (groups[-1][0], groups[-1][1], number)
        else:
            groups.append((x, number, number))
    for x, first, last in groups:
        words = str(first) if first == last else f"{first}-{last}"
        svg.line([(x, y + 0.6), (x, top + _PRESSURES[1])], stroke="#8d959b", stroke_width=0.12, stroke_dasharray="1 1")
        svg.text(x, y, words, SMALL, fill=INK, text_anchor="start", font_weight="bold")
