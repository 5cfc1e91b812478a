"""First layouts of strip patterns: rows along the straight legs of a lawn, or along the middle line of a bent one."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, product
from typing import TYPE_CHECKING

import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Polygon

from rillwright.model.parts import strip_reach
from rillwright.solvers.coverage.arcs import Stand
from rillwright.solvers.coverage.kit import Kit, Throw
from rillwright.solvers.coverage.strip_rows import best_row

if TYPE_CHECKING:
    import networkx as nx

__all__ = ["Leg", "bends_of", "legs_of", "strip_starts"]

Floats = NDArray[np.float64]

_STRAIGHT = 0.85  # least share of its enclosing rectangle that a leg fills
_MOST_CUTS = 12
_ROW_STEP, _LEAST_STEPS, _MOST_STEPS = 0.7, 40, 150  # [m] along a best row, and how many from end to end
_RATES = (1.0, 1.4, 2.0)  # wanted in a best row, of the mean rate of one head
_PRICES = (0.02, 0.06)  # of a head in a best row, as a share of the row left dry
_OVERLAPS = (1.0, 0.85, 0.7, 0.5)  # spacing as a share of the strip's length


@dataclass(frozen=True, slots=True)
class Leg:
    """A piece of a narrow lawn along its middle line, which may bend."""

    spine: Floats  # (n, 2) [m] middle line from end to end
    width: float  # [m]

    @property
    def length(self) -> float:
        """Length of the middle line [m]."""
        return float(np.hypot(*np.diff(self.spine, axis=0).T).sum())

    def _on_spine(self, along: float) -> Floats:
        """Point of the middle line; beyond its ends straight on."""
        steps = np.hypot(*np.diff(self.spine, axis=0).T)
        marks = np.concatenate(([0.0], np.cumsum(steps)))
        place = int(np.clip(np.searchsorted(marks, along) - 1, 0, len(steps) - 1))
        share = (along - marks[place]) / steps[place]
        return np.asarray(self.spine[place] + share * (self.spine[place + 1] - self.spine[place]))

    def heading(self, along: float, reach: float) -> float:
        """Direction [°] of the chord from a place [m] along the middle to another `reach` [m] on, or back."""
        x, y = self._on_spine(along + reach) - self._on_spine(along)
        return math.degrees(math.atan2(y, x)) % 360

    def at(self, along: float, across: float) -> tuple[float, float]:
        """Point at distances [m] along the middle and across from the right-hand side."""
        turn = math.radians(self.heading(along - 0.2, 0.4)) + math.pi / 2
        spot = self._on_spine(along) + (across - self.width / 2) * np.array((math.cos(turn), math.sin(turn)))
        return float(spot[0]), float(spot[1])


def legs_of(lawn: Polygon | MultiPolygon) -> list[Leg]:
    """Cut a lawn at its inside corners, where it bends, until every piece is straight or no cut helps."""
    return [_leg(piece) for part in shapely.get_parts(lawn) for piece in _straight(part, _MOST_CUTS)]


def _straight(part: Polygon, cuts: int) -> list[Polygon]:
    plain = part.simplify(0.15)
    fill = _filled(plain)
    if fill >= _STRAIGHT or cuts == 0:
        return [part]
    best: tuple[float, list[Polygon]] = (fill + 0.05, [])
    for line in _cuts(plain):
        pieces = [p for p in shapely.get_parts(shapely.ops.split(plain, line)) if p.area > 0.05]
        if len(pieces) > 1 or (len(pieces) == 1 and len(pieces[0].interiors) < len(plain.interiors)):
            boxes = sum(shapely.minimum_rotated_rectangle(p).area for p in pieces)
            value = sum(p.area for p in pieces) / boxes
            if value > best[0]:
                best = value, pieces
    return [leg for piece in best[1] for leg in _straight(piece, cuts - 1)] or [part]


def _filled(part: Polygon) -> float:
    return float(part.area / max(shapely.minimum_rotated_rectangle(part).area, 1e-9))


def _cuts(part: Polygon) -> list[LineString]:
    """Lines that run on from an edge at an inside corner, through the lawn."""
    lines = []
    far = 2 * math.hypot(part.bounds[2] - part.bounds[0], part.bounds[3] - part.bounds[1])
    for ring in (shapely.geometry.polygon.orient(part).exterior, *shapely.geometry.polygon.orient(part).interiors):
        corners = np.asarray(ring.coords)[:-1]
        side = np.roll(corners, -1, axis=0) - corners
        before = np.roll(side, 1, axis=0)
        inward = before[:, 0] * side[:, 1] - before[:, 1] * side[:, 0] < -1e-6
        for corner, into, out in zip(corners[inward], before[inward], side[inward], strict=True):
            for way in (into, -out):
                unit = way / max(float(np.hypot(*way)), 1e-9)
                ray = LineString([corner - 1e-6 * unit, corner + far * unit]).intersection(part.buffer(1e-6))
                near = min(shapely.get_parts(ray), key=shapely.Point(corner).distance)
                if near.geom_type == "LineString" and near.length > 0.05:
                    lines.append(shapely.affinity.scale(near, 1 + 1e-3, 1 + 1e-3))
    return lines


def _leg(piece: Polygon) -> Leg:
    """Take a straight piece by the rectangle round it."""
    box = np.asarray(shapely.geometry.polygon.orient(shapely.minimum_rotated_rectangle(piece)).exterior.coords)
    first, second = box[1] - box[0], box[2] - box[1]
    if np.hypot(*first) >= np.hypot(*second):
        return Leg(np.stack((box[0] + second / 2, box[1] + second / 2)), float(np.hypot(*second)))
    return Leg(np.stack((box[1] - first / 2, box[2] - first / 2)), float(np.hypot(*first)))


def bends_of(lawn: Polygon | MultiPolygon) -> list[Leg]:
    """Follow a lawn along its middle line where it is one ribbon; empty where some part is straight or no ribbon.

    The middle is the longest path through the edges of the Voronoi diagram of the outline that lie inside.
    """
    legs: list[Leg] = []
    for part in shapely.get_parts(lawn):
        width = 2 * float(part.area / max(part.length, 1e-9))
        if _filled(part) >= _STRAIGHT or part.interiors or part.area < 4 * width**2:
            return []
        spine = _spine(part, width)
        if spine is None or not 0.75 < part.area / (spine.length * width) < 1.25:
            return []
        legs.append(Leg(np.asarray(spine.coords), float(part.area / spine.length)))
    return legs


def _spine(part: Polygon, width: float) -> LineString | None:
    import networkx as nx  # takes a seventh of a second to import

    outline = shapely.segmentize(part.exterior, 0.3 * width)
    edges = shapely.get_parts(shapely.voronoi_polygons(outline, only_edges=True))
    pieces = edges[shapely.covered_by(edges, part.buffer(-0.1 * width))]
    pieces = shapely.get_parts(pieces)
    graph = nx.Graph()
    for piece in pieces:
        points = [tuple(np.round(point, 6)) for point in piece.coords]
        for start, end in pairwise(points):
            graph.add_edge(start, end, length=math.dist(start, end))
    if graph.number_of_edges() == 0:
        return None
    inside = graph.subgraph(max(nx.connected_components(graph), key=len))
    far = _farthest(inside, min(inside.nodes))
    path = nx.shortest_path(inside, far, _farthest(inside, far), weight="length")
    line = LineString(path) if len(path) > 1 else None
    if line is None or line.length < 2.5 * width:
        return None
    return _to_the_ends(line, part, width)


def _farthest(graph: "nx.Graph", start: tuple[float, float]) -> tuple[float, float]:
    import networkx as nx

    away = nx.single_source_dijkstra_path_length(graph, start, weight="length")
    farthest: tuple[float, float] = max(away, key=lambda node: (away[node], node))
    return farthest


def _to_the_ends(line: LineString, part: Polygon, width: float) -> LineString:
    """Smooth a middle line and run it straight on to the outline, for near the ends it forks toward the corners."""
    marks = np.linspace(0.8 * width, line.length - 0.8 * width, max(3, round(line.length / width)))
    points = [np.asarray(line.interpolate(mark).coords[0]) for mark in marks]
    ends = []
    for last, before in ((points[0], points[1]), (points[-1], points[-2])):
        onward = (last - before) / max(float(np.hypot(*(last - before))), 1e-9)
        ray = LineString((last, last + 3 * width * onward)).intersection(part)
        ends.append(last + onward * min(shapely.get_parts(ray), key=shapely.Point(last).distance).length)
    return LineString([ends[0], *points, ends[1]])


def strip_starts(kit: Kit, lawn: Polygon | MultiPolygon, ground: Polygon | MultiPolygon) -> list[list[Stand]]:
    """First layouts: rows of strip patterns along the legs, set the same way in all of them.

    Best rows along the middle and the sides; and even rows of what a row by itself cannot see: heads of one side that
    stand between those of the other, end strips that overlap on a bend. Parameters: ground where heads may stand.
    """
    widths = sorted({throw.nozzle.width for throw in kit.throws})
    straight, bent = legs_of(lawn), bends_of(lawn)
    ways = [way for legs in (straight, bent) for width in widths for way in _best_ways(legs, kit, width)]
    ways += [
        [stand for leg in legs for stand in _even_row(leg, kit, row, width, overlap)]
        for legs, row in ((straight, "staggered"), (bent, "chain"), (bent, "pairs"))
        for width in widths
        for overlap in _OVERLAPS
    ]
    starts = dict.fromkeys(tuple(_onto(ground, stand) for stand in way) for way in ways if way)
    return [list(start) for start in starts]


def _best_ways(legs: list[Leg], kit: Kit, width: float) -> Iterator[list[Stand]]:
    """Best rows along the middle of all legs, and along one side, the other or both."""
    middle = [_best_rows(leg, _settings(kit, ("centre strip", "end strip"), width), kit) for leg in legs]
    for rows in zip(*middle, strict=True):
        yield [_placed(leg, head, leg.width / 2) for leg, row in zip(legs, rows, strict=True) for head in row]
    along = [_best_rows(leg, _settings(kit, ("side strip",), width), kit) for leg in legs]
    for rows in zip(*along, strict=True):
        right = [_placed(leg, head, 0.0) for leg, row in zip(legs, rows, strict=True) for head in row]
        left = [_placed(leg, head, leg.width, turn=180.0) for leg, row in zip(legs, rows, strict=True) for head in row]
        yield from (right, left, right + left)


def _settings(kit: Kit, patterns: tuple[str, ...], width: float) -> list[tuple[Throw, int]]:
    """Throws with the way they throw: both ways (0), ahead (1), back (-1); every other share of the radius."""
    throws = [throw for pattern in patterns for throw in _of(kit, pattern, width)[::-2]]
    return [(throw, way) for throw in throws for way in ((1, -1) if throw.nozzle.pattern == "end strip" else (0,))]


def _best_rows(leg: Leg, settings: list[tuple[Throw, int]], kit: Kit) -> list[list[tuple[float, Throw, int]]]:
    """The best row for each wanted rate and price of a head: place [m], throw and way of its heads."""
    steps = round(np.clip(leg.length / _ROW_STEP, _LEAST_STEPS, _MOST_STEPS))
    step = leg.length / steps
    if not settings or step > min(throw.radius for throw, _ in settings):
        return [[] for _ in product(_RATES, _PRICES)]
    rates = np.array([_rate_along(kit, throw, step, steps) for throw, _ in settings])
    ways = np.array([way for _, way in settings])[:, None]
    ahead, behind = np.where(ways >= 0, rates, 0.0), np.where(ways <= 0, rates, 0.0)
    full = max(float(rate[rate > 0].mean()) for rate in rates)
    rows = (
        best_row(ahead, behind, steps=steps, wanted=wanted * full, price=price * steps)
        for wanted, price in product(_RATES, _PRICES)
    )
    return [[(place * step, *settings[number]) for place, number in row] for row in rows]


def _rate_along(kit: Kit, throw: Throw, step: float, steps: int) -> Floats:
    """Rate [m/s] of a strip in each step [m] along it from its head, to one side, mean across it."""
    nozzle, profile = throw.nozzle, kit.profile(throw.nozzle)
    behind, reach, _, _ = strip_reach(nozzle.pattern, length=throw.radius, width=nozzle.width)
    away = (np.arange(steps) + 0.5) * step
    curve = profile.at(kit.pressure / nozzle.design_pressure)
    rate = np.where(away < reach, np.interp(away / reach, profile.distance, curve), 0.0)
    flow = kit.flow(throw, 0.0) / (2 if behind > 0 else 1)
    return np.asarray(rate * flow / (nozzle.width * step * max(float(rate.sum()), 1e-9)))


def _placed(leg: Leg, head: tuple[float, Throw, int], across: float, *, turn: float = 0.0) -> Stand:
    """A strip along the chord of its stretch; on the left-hand side turned about."""
    place, throw, way = head
    direction = leg.heading(place, way * throw.radius) if way else leg.heading(place - throw.radius / 2, throw.radius)
    return Stand(leg.at(place, across), throw, (direction + turn) % 360, 0.0, throw.radius)


def _even_row(leg: Leg, kit: Kit, row: str, width: float, overlap: float) -> list[Stand]:
    if row in ("chain", "pairs"):
        return _end_row(leg, kit, width, overlap, paired=row == "pairs")
    right = _side_row(leg, kit, width, overlap, left=False, shift=0.0)
    return right + _side_row(leg, kit, width, overlap, left=True, shift=0.5)


def _of(kit: Kit, pattern: str, width: float) -> list[Throw]:
    return [throw for throw in kit.throws if throw.nozzle.pattern == pattern and throw.nozzle.width == width]


def _spread(length: float, throws: list[Throw], overlap: float) -> tuple[int, float, Throw]:
    """How many strips a length [m] takes, their spacing [m], and the throw that goes with it."""
    count = max(1, math.ceil(length / (throws[-1].radius * overlap) - 0.1))
    spacing = length / count
    return count, spacing, min(throws, key=lambda throw: abs(throw.radius - spacing / overlap))


def _side_row(leg: Leg, kit: Kit, width: float, overlap: float, *, left: bool, shift: float) -> list[Stand]:
    throws = _of(kit, "side strip", width)
    if not throws:
        return []
    count, spacing, throw = _spread(leg.length, throws, overlap)
    across = leg.width if left else 0.0
    stands = []
    for place in (np.arange(count + (1 if shift else 0)) + 0.5 - shift) * spacing:
        direction = (leg.heading(place - throw.radius / 2, throw.radius) + (180.0 if left else 0.0)) % 360
        stands.append(Stand(leg.at(float(place), across), throw, direction, 0.0, throw.radius))
    return stands


def _end_row(leg: Leg, kit: Kit, width: float, overlap: float, *, paired: bool) -> list[Stand]:
    """End strips along the chords of a bend: all ahead, or in pairs back to back."""
    throws = _of(kit, "end strip", width)
    if not throws:
        return []
    count, spacing, throw = _spread(leg.length, throws, overlap)
    stands = []
    for number in range(count):
        back = paired and number % 2 == 0
        place = spacing * (number + (1 if back else 0))
        direction = leg.heading(place, -throw.radius if back else throw.radius)
        stands.append(Stand(leg.at(place, leg.width / 2), throw, direction, 0.0, throw.radius))
    return stands


def _onto(ground: Polygon | MultiPolygon, stand: Stand) -> Stand:
    """Move a head to the nearest point where heads may stand."""
    point = shapely.Point(stand.at)
    if ground.covers(point):
        return stand
    near = shapely.ops.nearest_points(ground, point)[0]
    return stand._replace(at=(float(near.x), float(near.y)))
