"""The graph of straight stretches of trench that routes are chosen from."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree
from shapely.geometry import Point
from shapely.ops import nearest_points

from rillwright.solvers.routing.graph_kernel import unreplaced
from rillwright.solvers.routing.in_ground import follow, keep_off
from rillwright.solvers.routing.patches import Ints, Patch, make_patch
from rillwright.solvers.routing.surfaces import EDGE, DigGround, Floats

__all__ = ["Ends", "Graph", "Ints", "build_graph", "connected_parts", "place_ends"]

NEIGHBOURS = 40  # nearest nodes that a node is joined to
_BLOCK = 50_000  # pairs looked at together, which bounds the memory
DETOUR = 1.0005  # a stretch is left out when two others replace it for this share of its cost and length


@dataclass(frozen=True, slots=True)
class Ends:
    """The given points, and how those in a building get out of it."""

    points: Floats  # (n, 2) [m] as given
    outdoors: NDArray[np.bool_]  # (n,)
    ways_out: tuple[tuple[int, tuple[float, float]], ...]  # (given point, point on the wall outside)


@dataclass(frozen=True, slots=True)
class Graph:
    """Nodes, and straight edges that a trench may follow. The given points come first, in their order."""

    points: Floats  # (n, 2) [m]
    first: Ints  # (m,) nodes of the edges, first < second
    second: Ints  # (m,)
    trench: Floats  # (m,) [currency] of digging
    length: Floats  # (m,) [m]
    given: int  # how many nodes are given points
    indoors: Ints  # given points inside a building: a pipe passes them only where it starts or ends there
    parts: Ints  # (n,) number of the connected part each node is in
    lines: tuple[tuple[int, ...], ...] = ()  # edges that follow each given line

    def patch(self) -> Patch:
        """The whole graph with its arcs laid out."""
        return make_patch(np.arange(len(self.points)), np.arange(len(self.first)), self.first, self.second)


def place_ends(dig: DigGround, points: Floats) -> Ends:
    """Sort given points (n, 2) [m] into outdoors and indoors; indoors, find the nearest way out to each open part.

    A point in water, a keep-out or other forbidden ground is neither: it gets no way out.
    """
    outdoors = np.zeros(len(points), dtype=bool)
    ways_out: list[tuple[int, tuple[float, float]]] = []
    for number, xy in enumerate(points):
        spot = Point(xy)
        if spot.distance(dig.free) <= 2 * EDGE:
            outdoors[number] = True
            continue
        house = [part for part in shapely.get_parts(dig.indoors) if part.distance(spot) <= 2 * EDGE]
        for part in shapely.get_parts(dig.free):
            if house and part.distance(house[0]) <= 2 * EDGE:
                ways_out.append((number, nearest_points(part, spot)[0].coords[0]))
    return Ends(points, outdoors, tuple(ways_out))


def build_graph(
    dig: DigGround,
    ends: Ends,
    candidates: Sequence[Floats],
    *,
    groups: Sequence[Sequence[int]] = (),
    lines: Sequence[Sequence[tuple[float, float]]] = (),
) -> Graph:
    """Join nodes that see one another, price the stretches, and leave out those that others replace.

    Parameters: candidates, arrays (k, 2) [m] of further nodes, already thinned out, the first array of those that
    long straight stretches may join; groups, given points to be joined among themselves however far apart; lines,
    followed edge by edge wherever they run; where no trench may go, digging there is infinite.
    Each node is joined to its NEIGHBOURS nearest; on a small yard that is all there are.
    """
    outs = np.array([way for _, way in ends.ways_out]).reshape(-1, 2)
    given = len(ends.points)
    free = np.vstack([ends.points, outs])
    chains, spots = follow(lines, free)
    apart = [keep_off(spots, candidate) for candidate in candidates]
    points = np.vstack([free, spots, *apart])
    outdoors = np.flatnonzero(ends.outdoors)
    open_air = np.concatenate([outdoors, np.arange(given, len(points))])
    far = np.arange(given, len(free) + len(spots) + (len(apart[0]) if apart else 0))
    own = [np.intersect1d(np.array(group, dtype=np.int64), outdoors) for group in groups]
    roots = np.intersect1d(np.unique(np.concatenate([far, *(group[:1] for group in own)])), open_air)
    pairs = _near_pairs(points, [open_air, roots, *own])
    pairs, trench = _seen(dig, points, pairs)
    pairs, trench = _joined(dig, points, pairs, trench, open_air)
    keep = _needed(points, pairs, trench)
    ways = np.array([(number, given + way) for way, (number, _) in enumerate(ends.ways_out)], dtype=np.int64)
    pairs = np.vstack([pairs[keep], ways.reshape(-1, 2)])
    trench = np.concatenate([trench[keep], np.zeros(len(ways))])
    steps = [np.sort(np.column_stack([chain[:-1], chain[1:]]), axis=1) for chain in chains]
    pairs, trench = _followed(dig, points, pairs, trench, steps)
    order = np.lexsort((pairs[:, 1], pairs[:, 0]))
    first, second = pairs[order].T
    number = {(int(a), int(b)): e for e, (a, b) in enumerate(zip(first, second, strict=True))} if steps else {}
    return Graph(
        points,
        first,
        second,
        trench[order],
        np.linalg.norm(points[first] - points[second], axis=1),
        given,
        np.flatnonzero(~ends.outdoors),
        connected_parts(pairs[np.isfinite(trench)], len(points)),
        tuple(tuple(number[int(a), int(b)] for a, b in step) for step in steps),
    )


def _followed(
    dig: DigGround, points: Floats, pairs: Ints, trench: Floats, steps: Sequence[Ints]
) -> tuple[Ints, Floats]:
    """Add the steps along given lines that are not yet among the edges."""
    wanted = {(a, b) for step in steps for a, b in step.tolist()}
    new = sorted(wanted.difference(map(tuple, pairs.tolist()))) if wanted else []
    if not new:
        return pairs, trench
    added = np.array(new, dtype=np.int64)
    segments = shapely.linestrings(points[added])
    price = np.where(dig.clear(segments), dig.price(segments), np.inf)
    return np.vstack([pairs, added]), np.concatenate([trench, price])


def _near_pairs(points: Floats, sets: Sequence[Ints]) -> Ints:
    """Pairs (m, 2) of nodes, lower first: each node of a set with its nearest of the set."""
    found = []
    for members in sets:
        if len(members) < 2:
            continue
        count = min(NEIGHBOURS + 1, len(members))
        near = cKDTree(points[members]).query(points[members], k=count)[1]
        one, two = np.repeat(members, count), members[near].ravel()
        found.append(np.column_stack([np.minimum(one, two), np.maximum(one, two)])[one != two])
    return np.unique(np.vstack(found), axis=0) if found else np.zeros((0, 2), dtype=np.int64)


def _seen(dig: DigGround, points: Floats, pairs: Ints) -> tuple[Ints, Floats]:
    """Pairs with nothing in the way, and what a trench along each costs [currency]; a block at a time."""
    seen, prices = [np.zeros((0, 2), dtype=np.int64)], [np.zeros(0)]
    for some in np.array_split(pairs, max(1, len(pairs) // _BLOCK)):
        segments = shapely.linestrings(points[some])
        clear = dig.clear(segments)
        seen.append(some[clear])
        prices.append(dig.price(segments[clear]))
    return np.vstack(seen), np.concatenate(prices)


def connected_parts(pairs: Ints, nodes: int) -> Ints:
    """Number of the connected part that each node is in."""
    one, two = pairs.T.astype(np.int32)
    links = csr_array((np.ones(len(pairs)), (one, two)), shape=(nodes, nodes))
    return np.asarray(connected_components(links, directed=False)[1], dtype=np.int64)


def _joined(dig: DigGround, points: Floats, pairs: Ints, trench: Floats, open_air: Ints) -> tuple[Ints, Floats]:
    """Add stretches between parts that see one another over more than their nearest nodes, the smallest part first."""
    areas = shapely.STRtree(shapely.get_parts(dig.free))
    while True:
        part = connected_parts(pairs, len(points))[open_air]
        numbers, sizes = np.unique(part, return_counts=True)
        if len(numbers) < 2:
            return pairs, trench
        area = areas.nearest(shapely.points(points[open_air]))
        for number in numbers[np.argsort(sizes, kind="stable")]:
            inside = open_air[part == number]
            outside = open_air[(part != number) & np.isin(area, area[part == number])]
            new, price = _first_sights(dig, points, inside, outside)
            if len(new):
                pairs, trench = np.vstack([pairs, new]), np.concatenate([trench, price])
                break
        else:
            return pairs, trench


def _first_sights(dig: DigGround, points: Floats, inside: Ints, outside: Ints) -> tuple[Ints, Floats]:
    """Stretches from some nodes to the nearest of others that they see."""
    count = NEIGHBOURS
    while len(outside):
        count = min(count, len(outside))
        near = cKDTree(points[outside]).query(points[inside], k=[*range(1, count + 1)])[1]
        wanted = np.column_stack([np.repeat(inside, count), outside[near].ravel()])
        new, price = _seen(dig, points, np.sort(wanted, axis=1))
        if len(new) or count == len(outside):
            return new, price
        count *= 4
    return np.zeros((0, 2), dtype=np.int64), np.zeros(0)


def _needed(points: Floats, pairs: Ints, trench: Floats) -> NDArray[np.bool_]:
    """Say which edges no two others replace, node by node, so that what replaces an edge is still there."""
    patch = make_patch(np.arange(len(points)), np.arange(len(pairs)), pairs[:, 0], pairs[:, 1])
    length = np.linalg.norm(points[pairs[:, 0]] - points[pairs[:, 1]], axis=1)
    return np.asarray(unreplaced(patch.start, patch.other, patch.edge, points, length, trench, DETOUR))
