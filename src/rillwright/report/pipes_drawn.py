"""Pipes on a drawing: side by side where they share a trench, as wide as their size, each size printed."""

import math
from collections.abc import Mapping
from itertools import pairwise

from shapely.geometry import LineString

from rillwright.model.plan import Pipe, Plan
from rillwright.report.labels import LabelBoard
from rillwright.report.palette import INK, MAIN, SLEEVE, zone_colour, zone_dash
from rillwright.report.scale import View
from rillwright.report.svg import Svg
from rillwright.report.text import SMALL

__all__ = ["Path", "draw_pipe_sizes", "draw_pipes", "draw_sleeves", "paths_on_paper", "pipe_width"]

Point = tuple[float, float]
Path = list[Point]

_LANE = 0.95  # [mm] from one lane to the next
_LONG = 9.0  # [mm] a run must have on paper to carry its size
_DIRECTIONS = 24  # tried for the sideways shift, over a half turn


def pipe_width(pipe: Pipe) -> float:
    """Width of a pipe's line [mm] by its bore; a main is wider than a lateral of its size."""
    return max(0.3, 25 * pipe.bore - 0.05) + (0.35 if pipe.role == "main" else 0.0)


def paths_on_paper(plan: Plan, view: View) -> dict[str, Path]:
    """The path of each pipe on paper [mm].

    All pipes of a zone are moved together by one shift, so that their joints stay joints; zones that share a trench
    are moved differently. The ends at heads, valve places and the entry go to the true point.
    """
    lanes = _lanes(plan)
    across = _across(plan)
    fixed = {head.id for head in plan.heads} | {place.id for place in plan.places}
    paths: dict[str, Path] = {}
    for pipe in plan.pipes:
        lane = lanes[pipe.zone] * _LANE
        true = [view.xy(x, y) for x, y in pipe.path]
        moved = [(x + lane * across[0], y - lane * across[1]) for x, y in true]
        if lane and pipe.start in fixed:
            moved.insert(0, true[0])
        if lane and pipe.end in fixed:
            moved.append(true[-1])
        paths[pipe.id] = moved
    return paths


def draw_sleeves(svg: Svg, plan: Plan, view: View) -> None:
    """Draw the stretches of trench that lie in a sleeve."""
    svg.layer("sleeves")
    for trench in plan.trenches:
        if trench.sleeve:
            svg.line([view.xy(x, y) for x, y in trench.path], stroke=SLEEVE, stroke_width=2.8, stroke_opacity=0.8)


def draw_pipes(svg: Svg, plan: Plan, paths: Mapping[str, Path]) -> None:
    """Draw laterals in their zone's colour and dash, with a dot where they branch, and the main on top."""
    svg.layer("pipes")
    index_of = {zone.id: i for i, zone in enumerate(plan.zones)}
    starts = {pipe.start: pipe for pipe in plan.pipes if pipe.zone}
    for pipe in sorted(plan.pipes, key=lambda p: p.role == "main"):
        style: dict[str, str | float] = {"stroke": MAIN, "stroke_width": pipe_width(pipe)}
        if pipe.zone:
            style |= {"stroke": zone_colour(index_of[pipe.zone]), "stroke_dasharray": zone_dash(index_of[pipe.zone])}
        svg.line(paths[pipe.id], **style)
    known = {head.id for head in plan.heads} | {place.id for place in plan.places}
    for node, pipe in starts.items():
        if node not in known and pipe.zone:
            x, y = paths[pipe.id][0]
            svg.circle(x, y, 0.5, fill=zone_colour(index_of[pipe.zone]))


def draw_pipe_sizes(svg: Svg, plan: Plan, paths: Mapping[str, Path], board: LabelBoard) -> None:
    """Print the size of every run of paths that has room: on the run, or beside it together with the zone's id."""
    svg.layer("pipe-sizes")
    for pipe in sorted((p for p in plan.pipes if p.id in paths), key=lambda p: -p.length):
        line = LineString(paths[pipe.id])
        if line.length < _LONG:
            continue
        found = _on_run(pipe, line, board) or _beside_run(pipe, line, board)
        if found:
            words, spot = found
            svg.text(*spot, words, SMALL, halo=True, fill=INK)


def _on_run(pipe: Pipe, line: LineString, board: LabelBoard) -> tuple[str, Point] | None:
    for share in (0.5, 0.35, 0.65, 0.2, 0.8):
        middle = line.interpolate(share, normalized=True)
        spot = board.claim(middle.x, middle.y, pipe.size, SMALL, own=pipe.id)
        if spot:
            return pipe.size, spot
    return None


def _beside_run(pipe: Pipe, line: LineString, board: LabelBoard) -> tuple[str, Point] | None:
    words = f"{pipe.zone or 'main'} {pipe.size}"
    for aside in (3.0, 5.0, 8.0):
        for share in (0.5, 0.35, 0.65, 0.2, 0.8):
            here = line.interpolate(share, normalized=True)
            ahead = line.interpolate(min(1.0, share + 0.02), normalized=True)
            turn = math.atan2(ahead.y - here.y, ahead.x - here.x) + math.pi / 2
            for side in (1, -1):
                reach = side * aside * (1 + 1.2 * abs(math.cos(turn)))  # words are wider than high
                spot = board.claim(here.x + reach * math.cos(turn), here.y + reach * math.sin(turn), words, SMALL)
                if spot:
                    return words, spot
    return None


def _lanes(plan: Plan) -> dict[str | None, int]:
    """A lane for each zone, such that zones in one trench have different lanes; the main (None) has lane 0."""
    zone_of = {pipe.id: pipe.zone for pipe in plan.pipes}
    together = [{zone_of[p] for p in trench.pipes if p in zone_of} for trench in plan.trenches]
    lanes: dict[str | None, int] = {None: 0}
    for zone in (z.id for z in plan.zones):
        met = {lanes[other] for zones in together if zone in zones for other in zones if other in lanes}
        lanes[zone] = next(lane for n in range(2 * len(plan.zones) + 2) if (lane := _outward(n)) not in met)
    return lanes


def _outward(n: int) -> int:
    """Count 0, 1, -1, 2, -2 and so on."""
    return (n + 1) // 2 * (1 if n % 2 else -1)


def _across(plan: Plan) -> Point:
    """Direction of the sideways shift: the one that best crosses the trenches that several pipes share."""
    runs: list[tuple[float, float]] = []
    for trench in plan.trenches:
        if len(trench.pipes) > 1:
            for (x1, y1), (x2, y2) in pairwise(trench.path):
                runs.append((math.hypot(x2 - x1, y2 - y1), math.atan2(y2 - y1, x2 - x1)))

    def apart(angle: float) -> float:
        return sum(length * min(0.7, abs(math.sin(angle - along))) for length, along in runs)

    best = max(
        (math.pi * n / _DIRECTIONS for n in range(_DIRECTIONS)), key=lambda a: (round(apart(a), 6), -abs(a - 0.8))
    )
    return math.cos(best), math.sin(best)
