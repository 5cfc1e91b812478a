"""Where heads may first stand: corners, edges divided evenly, then the inside on a lattice or relaxed."""

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry import LinearRing, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from rillwright.solvers.coverage.search_kernels import nearest_heads, nearest_piece
from rillwright.solvers.coverage.shadow import segments_of

__all__ = ["INSET", "OFF_WALLS", "Seat", "edge_direction", "edge_seats", "inner_sets", "stand_ground"]

Floats = NDArray[np.float64]
Shape: TypeAlias = Polygon | MultiPolygon

INSET = 0.05  # [m] of a head from the edge of the lawn: about 2 in
OFF_WALLS = (0.3, 0.15)  # [m] of a head from a building, the first that a thin lawn allows
_MOSTLY = 0.7  # of a lawn's ground that must be left by it
_CORNER = 32.0  # [°] least turn of the edge that counts as a corner
_SAMPLE = 0.25  # [m] along an edge


@dataclass(frozen=True, slots=True)
class Seat:
    """A place for a head, with the radius it should reach there to meet its neighbours."""

    at: tuple[float, float]
    wanted: float  # [m]
    corner: bool = False  # a head in a corner stays there


def stand_ground(lawn: Shape, buildings: BaseGeometry) -> Shape:
    """Give the part of a lawn where heads may stand: two fingers inside its edge, a foot off a building.

    Less where the lawn is thinner. Source: common practice, no source.
    """
    for inset in (INSET, 0.02):
        inner = lawn.buffer(-inset, join_style="mitre", mitre_limit=2.0)
        if inner.area > 0.3 * lawn.area:
            return _off_walls(inner, buildings)
    return lawn


def _off_walls(inner: Shape, buildings: BaseGeometry) -> Shape:
    """Draw the ground back from buildings, as far as leaves each of its parts most of its area."""
    near = shapely.intersection(buildings, shapely.box(*inner.buffer(2 * OFF_WALLS[0]).bounds))
    parts = []
    for part in shapely.get_parts(inner):
        drawn = (part.difference(near.buffer(off, join_style="mitre", mitre_limit=2.0)) for off in OFF_WALLS)
        parts.append(next((less for less in drawn if less.area > _MOSTLY * part.area), part))
    kept = [p for part in parts for p in shapely.get_parts(part) if p.geom_type == "Polygon" and p.area > 1e-6]
    return kept[0] if len(kept) == 1 else MultiPolygon(kept)


def edge_direction(at: tuple[float, float], edges: Floats) -> float:
    """Direction [°] of the piece of edge nearest to a point, of pieces equally near the longest.

    Parameters: edges (n, 4) [m], pieces (x, y, x, y).
    """
    x, y, next_x, next_y = edges[nearest_piece(*at, edges)].tolist()
    return math.degrees(math.atan2(next_y - y, next_x - x))


def edge_seats(ground: Shape, *, spacing: float, radius: float, least: float) -> list[Seat]:
    """Seats along every edge: one in each corner, the edge between two corners divided evenly.

    Parameters: ground where heads may stand; spacing [m], largest between heads; radius [m] that goes with it;
    least [m] radius of the class. Where the lawn is narrower than the spacing, heads stand closer, in proportion.
    A hole smaller than a head can throw over gets none: the others water round it.
    """
    seats: list[Seat] = []
    for part in shapely.get_parts(ground):
        faces, grown = segments_of(part), part.buffer(1e-6)
        shapely.prepare(grown)
        rings = [part.exterior, *(hole for hole in part.interiors if _wide(hole) > 0.6 * spacing)]
        for ring in rings:
            seats += _ring_seats(ring, faces, grown, spacing=spacing, radius=radius, least=least)
    return _apart(seats, share=0.4 * spacing / radius)


def _wide(ring: LinearRing) -> float:
    box = shapely.minimum_rotated_rectangle(ring)
    return math.sqrt(box.area) if box.geom_type == "Polygon" else 0.0


def _ring_seats(
    ring: LinearRing, faces: Floats, grown: Shape, *, spacing: float, radius: float, least: float
) -> list[Seat]:
    places = _corners(ring, tolerance=max(0.1, 0.06 * radius), apart=0.45 * spacing)
    closed = len(places) == 0
    places = places or [0.0]
    seats: list[Seat] = []
    for here, there in zip(places, [*places[1:], places[0] + ring.length], strict=True):
        count = max(2, math.ceil((there - here) / _SAMPLE))
        along = np.linspace(here, there, count + 1)
        local = _local_spacing(ring, faces, grown, along, spacing=spacing, least=least * spacing / radius)
        steps = np.concatenate(([0.0], np.cumsum((there - here) / count / ((local[1:] + local[:-1]) / 2))))
        pieces = max(3 if closed else 1, math.ceil(steps[-1] - 0.06))
        marks = np.interp(np.arange(pieces) * steps[-1] / pieces, steps, along)
        for number, mark in enumerate(marks):
            spot = ring.interpolate(mark % ring.length)
            wanted = float(np.interp(mark, along, local)) * radius / spacing
            seats.append(Seat((spot.x, spot.y), wanted, corner=number == 0 and not closed))
    return seats


def _corners(ring: LinearRing, *, tolerance: float, apart: float) -> list[float]:
    """Places along a ring [m] where the simplified edge turns sharply; of close ones the sharpest stays."""
    plain = np.asarray(ring.simplify(tolerance).coords)[:-1]
    side = np.roll(plain, -1, axis=0) - plain
    direction = np.degrees(np.arctan2(side[:, 1], side[:, 0]))
    turn = np.abs((direction - np.roll(direction, 1) + 180) % 360 - 180)
    sharp = [(float(t), float(ring.project(shapely.Point(p)))) for p, t in zip(plain, turn, strict=True) if t > _CORNER]
    kept: list[float] = []
    for _, place in sorted(sharp, key=lambda corner: (-round(corner[0], 3), corner[1])):
        gaps = [abs(place - other) for other in kept]
        if all(min(gap, ring.length - gap) > min(apart, ring.length / 8) for gap in gaps):
            kept.append(place)
    return sorted(kept)


def _local_spacing(
    ring: LinearRing, faces: Floats, grown: Shape, along: Floats, *, spacing: float, least: float
) -> Floats:
    """Spacing [m] at places along a ring: the lawn's width across, where that is less than the full spacing.

    Parameters: faces (m, 4) [m] of the part that the ring bounds; grown, that part a hair larger.
    """
    half = 0.05
    ahead = shapely.line_interpolate_point(ring, (along + half) % ring.length)
    behind = shapely.line_interpolate_point(ring, (along - half) % ring.length)
    spot = shapely.get_coordinates(shapely.line_interpolate_point(ring, along % ring.length))
    side = shapely.get_coordinates(ahead) - shapely.get_coordinates(behind)
    normal = np.column_stack((-side[:, 1], side[:, 0])) / np.maximum(np.hypot(*side.T), 1e-9)[:, None]
    left = shapely.contains_xy(grown, *(spot + 0.05 * normal).T)
    normal[~left] *= -1
    start = spot + 0.02 * normal
    width = 0.02 + np.minimum(_clear(start, normal, faces), 1.2 * spacing)
    width[[0, -1]] = width[[1, -2]]  # at a corner the normal means nothing
    window = max(1, round(0.7 * spacing / max(along[1] - along[0], 1e-6)))
    padded = np.pad(width, window, mode="edge")
    widest = np.lib.stride_tricks.sliding_window_view(padded, 2 * window + 1).max(axis=1)
    return np.asarray(np.clip(widest, least, spacing))


def _clear(start: Floats, toward: Floats, faces: Floats) -> Floats:
    """Distance [m] from points (n, 2) along unit directions (n, 2) to the first of some faces (m, 4)."""
    ahead = faces[None, :, :2] - start[:, None]
    side = faces[:, 2:] - faces[:, :2]
    cross = toward[:, :1] * side[:, 1] - toward[:, 1:] * side[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        far = (ahead[..., 0] * side[:, 1] - ahead[..., 1] * side[:, 0]) / cross
        share = (ahead[..., 0] * toward[:, 1:] - ahead[..., 1] * toward[:, :1]) / cross
    met = (far > 0) & (share >= 0) & (share <= 1)
    return np.asarray(np.where(met, far, np.inf).min(axis=1))


def _apart(seats: list[Seat], *, share: float) -> list[Seat]:
    """Drop a seat that stands on another's heels (two edges of a narrow neck, say)."""
    kept: list[Seat] = []
    for seat in seats:
        if all(math.dist(seat.at, other.at) > share * min(seat.wanted, other.wanted) for other in kept):
            kept.append(seat)
    return kept


def inner_sets(
    ground: Shape, edge: list[Seat], *, spacing: float, radius: float, rng: np.random.Generator
) -> list[list[Seat]]:
    """Give several ways to fill the inside, given the heads on the edge: square and triangular lattices, and relaxed.

    Parameters: ground where heads may stand; spacing [m]; radius [m]. Each way fills what a lattice leaves open.
    """
    cells = _inner_points(ground, spacing=spacing)
    taken = np.array([seat.at for seat in edge]).reshape(-1, 2)
    sets = [_free(points, ground, taken, spacing) for points in _lattices(ground, spacing=spacing)]
    ways = [_fill(points, cells, taken, spacing) for points in sets]
    relaxed = _fill(np.empty((0, 2)), cells, taken, spacing)
    if len(relaxed):
        ways.append(_relax(relaxed, cells, taken, ground))
        most = max(len(way) for way in ways)
        fewer = rng.permutation(len(relaxed))[: max(0, len(relaxed) - max(1, most // 8))]
        ways.append(_relax(relaxed[np.sort(fewer)], cells, taken, ground))
    seen: dict[tuple[tuple[float, float], ...], list[Seat]] = {}
    for way in ways:
        key = tuple(sorted((round(float(x), 2), round(float(y), 2)) for x, y in way))
        seen.setdefault(key, [Seat((float(x), float(y)), radius) for x, y in way])
    return list(seen.values())


def _inner_points(ground: Shape, *, spacing: float) -> Floats:
    low_x, low_y, high_x, high_y = ground.bounds
    step = max(spacing / 8, math.sqrt((high_x - low_x) * (high_y - low_y) / 20000))
    x, y = np.meshgrid(np.arange(low_x + step / 2, high_x, step), np.arange(low_y + step / 2, high_y, step))
    inside = np.asarray(shapely.contains_xy(ground, x, y))
    return np.column_stack((x[inside], y[inside]))


def _lattices(ground: Shape, *, spacing: float) -> list[Floats]:
    """Square and triangular lattices along the two longest straight edges' directions, fitted to the lawn's extent."""
    out = []
    for turn in _main_directions(ground):
        cos, sin = math.cos(turn), math.sin(turn)
        flat = shapely.affinity.rotate(ground, -turn, origin=(0, 0), use_radians=True)
        low_x, low_y, high_x, high_y = flat.bounds
        nx = max(1, math.ceil((high_x - low_x) / spacing - 0.06))
        ny = max(1, math.ceil((high_y - low_y) / spacing - 0.06))
        rows = max(1, math.ceil((high_y - low_y) / (spacing * 0.866) - 0.06))
        step = (high_x - low_x) / nx
        square = _rows(np.linspace(low_x, high_x, nx + 1), np.linspace(low_y, high_y, ny + 1), shift=0.0)
        triangle = _rows(np.linspace(low_x, high_x, nx + 1), np.linspace(low_y, high_y, rows + 1), shift=step / 2)
        out += [points @ np.array(((cos, sin), (-sin, cos))) for points in (square, triangle)]
    return out


def _rows(x: Floats, y: Floats, *, shift: float) -> Floats:
    grid_x, grid_y = np.meshgrid(x, y)
    grid_x[1::2] += shift
    return np.column_stack((grid_x.ravel(), grid_y.ravel()))


def _main_directions(ground: Shape) -> list[float]:
    """Directions [rad], within a quarter turn, of the longest straight edges; at most two."""
    length: dict[int, float] = {}
    for part in shapely.get_parts(ground):
        plain = np.asarray(part.exterior.simplify(0.15).coords)
        for dx, dy in np.diff(plain, axis=0):
            turn = round(math.degrees(math.atan2(dy, dx)) * 2) % 180
            length[turn] = length.get(turn, 0.0) + math.hypot(dx, dy)
    best = sorted(length, key=lambda turn: (-length[turn], turn))
    return [math.radians(turn / 2) for turn in best[:2] if length[turn] > 0.15 * sum(length.values())] or [0.0]


def _free(points: Floats, ground: Shape, taken: Floats, spacing: float) -> Floats:
    inside: Floats = points[np.asarray(shapely.contains_xy(ground, *points.T))]
    if len(taken) == 0 or len(inside) == 0:
        return inside
    distance, _ = cKDTree(taken).query(inside)
    return np.asarray(inside[distance > 0.62 * spacing])


def _fill(points: Floats, cells: Floats, taken: Floats, spacing: float) -> Floats:
    """Put a head on the farthest open spot until none is farther from a head than a lattice would leave it."""
    points = points.reshape(-1, 2)
    if len(cells) == 0:
        return points
    heads = np.vstack((taken, points))
    distance = cKDTree(heads).query(cells)[0] if len(heads) else np.full(len(cells), np.inf)
    while distance.max() > 0.8 * spacing:
        spot = cells[int(distance.argmax())]
        points = np.vstack((points, spot))
        distance = np.minimum(distance, np.hypot(*(cells - spot).T))
    return points


def _relax(points: Floats, cells: Floats, taken: Floats, ground: Shape, rounds: int = 25) -> Floats:
    """Move each head to the middle of the ground nearest to it, again and again (Lloyd's method); the edge stays."""
    if len(points) == 0:
        return points
    heads, owner = np.vstack((taken, points)), np.empty(len(cells), dtype=np.int64)
    own = heads[len(taken) :]
    for _ in range(rounds):
        tied = nearest_heads(cells, heads, owner)
        if len(tied):  # the tree's order decides
            owner[tied] = cKDTree(heads).query(cells[tied])[1]
        count = np.bincount(owner, minlength=len(heads))[len(taken) :]
        middle = np.column_stack([np.bincount(owner, cells[:, k], minlength=len(heads)) for k in (0, 1)])[len(taken) :]
        target = np.where(count[:, None] > 0, middle / np.maximum(count, 1)[:, None], own)
        moved = np.asarray(shapely.contains_xy(ground, *target.T)) & (target != own).any(axis=1)
        if not moved.any():
            break
        own[moved] = target[moved]
    return own
