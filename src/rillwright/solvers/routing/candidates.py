"""Points where trenches may bend, branch or cross paving."""

from collections.abc import Iterable
from itertools import pairwise

import numpy as np
import shapely
from scipy.spatial import Delaunay, QhullError, cKDTree
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from rillwright.solvers.routing.surfaces import DigGround, Floats

__all__ = ["balance", "corners", "crossings", "keep", "triangle_points"]

CLEARANCES = (0.3, 0.1, 0.02)  # [m] from an outline; the smaller ones only where the larger leaves no way through
SPACING = 0.15  # [m] candidates closer than this to another node are not worth having
STATION = 3.0  # [m] between the places along a paving edge where a crossing is offered
LONGEST_CROSSING = 15.0  # [m]
LEAST = 0.001  # [m] nearer to the edge than this a direction square to it cannot be told
CROSSING_REACH = 12.0  # [m] from a terminal to paving it may want to cross


def keep(dig: DigGround, wanted: Floats, taken: Floats) -> Floats:
    """Thin out candidate points: on free ground, off surfaces charged by the crossing, apart from other nodes.

    Parameters: wanted (n, 2), in order of preference; taken (m, 2), nodes already there. Returns: (k, 2) [m].
    """
    if len(wanted) == 0:
        return wanted.reshape(0, 2)
    spots = shapely.points(wanted)
    good = dig.clear(spots)
    for layer in dig.layers:
        if layer.per_crossing > 0:
            good &= ~shapely.intersects(layer.shape, spots)
    wanted = wanted[good]
    if len(taken) and len(wanted):
        wanted = wanted[cKDTree(taken).query(wanted)[0] >= SPACING]
    if len(wanted) == 0:
        return wanted
    dropped: set[int] = set()
    for one, two in sorted(cKDTree(wanted).query_pairs(SPACING)):
        if one not in dropped:
            dropped.add(two)
    return np.asarray(np.delete(wanted, sorted(dropped), axis=0))


def corners(dig: DigGround) -> Floats:
    """Points off the corners round which a trench may have to bend: of obstacles, the site and dear surfaces."""
    found: Floats = np.empty((0, 2))
    for clearance in CLEARANCES:
        inner = dig.free.buffer(-clearance, join_style="mitre", mitre_limit=2.0).simplify(clearance / 2)
        turns = _turns(inner, inward=True)
        if len(found) and len(turns):
            turns = turns[cKDTree(found).query(turns)[0] > 2 * CLEARANCES[0]]
        found = np.vstack([found, turns])
    for layer in dig.layers:
        if layer.per_metre > dig.base.per_metre:
            outer = layer.shape.buffer(CLEARANCES[0], join_style="mitre", mitre_limit=2.0)
            found = np.vstack([found, _turns(outer.simplify(CLEARANCES[0] / 2), inward=False)])
    return found


def _turns(shape: BaseGeometry, *, inward: bool) -> Floats:
    """Corners of polygons: those that point into the shape, or those that point out of it."""
    found = []
    for polygon in shapely.get_parts(shapely.orient_polygons(shape)):
        for ring in (polygon.exterior, *polygon.interiors) if not polygon.is_empty else ():
            xy = shapely.get_coordinates(ring)[:-1]
            back, ahead = xy - np.roll(xy, 1, axis=0), np.roll(xy, -1, axis=0) - xy
            cross = back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0]
            found.append(xy[cross < 0] if inward else xy[cross > 0])
    return np.vstack(found) if found else np.empty((0, 2))


def crossings(dig: DigGround, terminals: Floats) -> Floats:
    """Pairs of points on either side of paving, square to its edge: opposite terminals, and at stations along it."""
    found: list[tuple[float, float]] = []
    for layer in dig.layers:
        if layer.per_crossing == 0:
            continue
        for part in shapely.get_parts(layer.shape):
            for spot in _spots(part, terminals):
                found += _across(part, spot)
    return np.array(found).reshape(-1, 2)


def _spots(paving: BaseGeometry, terminals: Floats) -> Iterable[tuple[Floats, Floats]]:
    """Points on the edge of paving with the direction square to the edge there, into the paving."""
    shapely.prepare(paving)
    for xy in terminals:
        spot, edge = Point(xy), paving.boundary
        if paving.intersects(spot) or spot.distance(edge) > CROSSING_REACH:
            continue
        near = np.array(nearest_points(edge, spot)[0].coords[0])
        gap = np.hypot(*(near - xy))
        if gap > 2 * LEAST:
            yield near, (near - xy) / gap
    ring = shapely.get_coordinates(shapely.orient_polygons(paving).exterior)
    for start, end in pairwise(ring):
        long = float(np.hypot(*(end - start)))
        if long < 2 * CLEARANCES[0]:
            continue
        along = (end - start) / long
        for share in (np.arange(round(long / STATION) + 1) + 0.5) / (round(long / STATION) + 1):
            yield start + share * (end - start), np.array((-along[1], along[0]))


def _across(paving: BaseGeometry, spot: tuple[Floats, Floats]) -> list[tuple[float, float]]:
    """The two ends of a crossing that enters the paving at a point of its edge."""
    near, into = spot
    back = near - CLEARANCES[0] * into
    ray = LineString((near - 0.01 * into, near + LONGEST_CROSSING * into)).intersection(paving)
    parts = [part for part in shapely.get_parts(ray) if part.length > LEAST]
    if not parts:
        return []
    first = min(parts, key=lambda part: float(part.distance(Point(near))))
    reach = max(float(np.dot(np.array(c) - near, into)) for c in first.coords)
    if reach > LONGEST_CROSSING - 0.1:
        return []
    ahead = near + (reach + CLEARANCES[0]) * into
    return [(float(back[0]), float(back[1])), (float(ahead[0]), float(ahead[1]))]


def triangle_points(points: Floats) -> Floats:
    """Points of least total distance to the corners of each triangle of the Delaunay net of some points.

    Triangles with a corner of 120° or more have theirs in that corner, and give none.
    """
    if len(points) < 3:
        return np.empty((0, 2))
    try:
        triangles = points[Delaunay(points).simplices]
    except QhullError:  # all in one line
        return np.empty((0, 2))
    spots = balance(triangles, np.ones(triangles.shape[:2]))
    return spots[~np.isnan(spots[:, 0])]


def balance(ends: Floats, weights: Floats) -> Floats:
    """Points of least weighted distance to some fixed points each, by Weiszfeld's method.

    Parameters: ends (b, k, 2) [m]; weights (b, k), 0 to leave a point out, not all 0. Returns: (b, 2) [m]; NaN where
    the least is at one of the fixed points.
    """
    spot = np.einsum("bk,bkx->bx", weights, ends) / weights.sum(axis=1, keepdims=True)
    for _ in range(40):
        pull = weights / np.maximum(np.linalg.norm(ends - spot[:, None], axis=2), 1e-9)
        spot = np.einsum("bk,bkx->bx", pull, ends) / pull.sum(axis=1, keepdims=True)
    gap = np.linalg.norm(ends - spot[:, None], axis=2)
    spot[np.any((gap < SPACING) & (weights > 0), axis=1)] = np.nan
    return np.asarray(spot)
