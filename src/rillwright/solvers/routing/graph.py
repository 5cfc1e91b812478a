"""The graph of straight stretches of trench that routes are chosen from."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry import Point
from shapely.ops import nearest_points

from rillwright.solvers.routing.surfaces import EDGE, DigGround, Floats

__all__ = ["Ends", "Graph", "Ints", "build_graph", "place_ends"]

Ints = NDArray[np.int64]

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

    def edge_numbers(self) -> dict[tuple[int, int], int]:
        """Edge number of each pair of nodes, lower node first."""
        return {(int(a), int(b)): e for e, (a, b) in enumerate(zip(self.first, self.second, strict=True))}


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


def build_graph(dig: DigGround, ends: Ends, candidates: Sequence[Floats]) -> Graph:
    """Join all nodes that see one another, price the stretches, and leave out those that others replace.

    Parameters: candidates, arrays (k, 2) [m] of further nodes, already thinned out.
    """
    outs = np.array([way for _, way in ends.ways_out]).reshape(-1, 2)
    points = np.vstack([ends.points, outs, *candidates])
    given = len(ends.points)
    open_air = np.concatenate([np.flatnonzero(ends.outdoors), np.arange(given, len(points))])
    trench = np.full((len(points), len(points)), np.inf)
    length = np.linalg.norm(points[:, None] - points[None], axis=2)
    one, two = (open_air[k] for k in np.triu_indices(len(open_air), 1))
    segments = shapely.linestrings(np.stack([points[one], points[two]], axis=1))
    clear = dig.clear(segments)
    one, two = one[clear], two[clear]
    trench[one, two] = trench[two, one] = dig.price(segments[clear])
    for way, (number, _) in enumerate(ends.ways_out):
        trench[number, given + way] = trench[given + way, number] = 0.0
    _leave_out(trench, length, skip=set(range(given)) - set(np.flatnonzero(ends.outdoors).tolist()))
    first, second = np.nonzero(np.triu(np.isfinite(trench), 1))
    links = csr_array((np.ones(len(first)), (first, second)), shape=trench.shape)
    return Graph(
        points,
        first,
        second,
        trench[first, second],
        length[first, second],
        given,
        np.flatnonzero(~ends.outdoors),
        np.asarray(connected_components(links, directed=False)[1]),
    )


def _leave_out(trench: Floats, length: Floats, *, skip: set[int]) -> None:
    """Drop edges that two others replace, node by node, so that what replaces an edge is still there when it goes."""
    for via in range(len(trench)):
        if via in skip:
            continue
        near = np.flatnonzero(np.isfinite(trench[via]))
        to_via, way = trench[via, near], length[via, near]
        block = np.ix_(near, near)
        replaced = (to_via[:, None] + to_via[None] <= DETOUR * trench[block] + 1e-9) & (
            way[:, None] + way[None] <= DETOUR * length[block] + 1e-9
        )
        replaced &= np.isfinite(trench[block])
        trench[block] = np.where(replaced, np.inf, trench[block])
