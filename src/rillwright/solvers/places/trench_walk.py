"""How far a trench must run between two points of the yard, walking round what no trench may cross."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree
from scipy.spatial.distance import cdist

from rillwright.model.ground import Ground

__all__ = ["TrenchWalk"]

Point = tuple[float, float]

_BLOCK = 100  # points at once, which bounds the memory
_NODES = 6000  # at most about so many grid points, while that leaves steps of _COARSEST or less
_COARSEST = 2.5  # [m] of a grid step, however large the site
_FAR = 80.0  # [m] beyond which two points of a large site are taken to see each other
_LARGE = 300  # points; with fewer, every pair is looked at
_PAIRS = 100_000  # lines of sight at once
_LONGEST = 1.5  # times _FAR: ways longer than that are not followed on a large site
_DETOUR = 20.0  # a step inside a building, water or keep-out counts so many times its length
_STEPS = ((1, 0), (0, 1), (1, 1), (1, -1), (2, 1), (1, 2), (2, -1), (1, -2))


class TrenchWalk:
    """Walking distances between given points, on a grid with sixteen directions.

    A straight line that meets no obstacle is taken as it is; else the grid's way, which is at most 2.8 % longer than
    the true shortest way plus one grid step at each end. Obstacles are dear instead of closed, so that every
    distance is finite; whether a pipe can be laid at all is the routing's question. With over 300 points only pairs
    within 80 m are looked at so; others are straight lines: no zone is chosen by the odd metres between far corners.
    """

    def __init__(self, ground: Ground, points: Sequence[Point]) -> None:
        """Prepare the distances among points [m]."""
        self._index = {point: i for i, point in enumerate(dict.fromkeys(points))}
        self._xy = np.array(list(self._index), dtype=float).reshape(-1, 2)
        self._round = _ways_round(ground, self._xy)

    def __call__(self, a: Point, b: Point) -> float:
        """Trench length [m] between two of the points given at the start; KeyError for another point."""
        return float(self.table([a], [b])[0, 0])

    def table(self, rows: Sequence[Point], columns: Sequence[Point]) -> NDArray[np.float64]:
        """Trench lengths [m], shape (rows, columns), among points given at the start; KeyError for another point."""
        tails, heads = [self._index[a] for a in rows], [self._index[b] for b in columns]
        metres: NDArray[np.float64] = cdist(self._xy[tails], self._xy[heads])
        longer = self._round[tails][:, heads].tocoo()
        metres[longer.row, longer.col] = longer.data
        return metres


def _ways_round(ground: Ground, xy: NDArray[np.float64]) -> csr_array:
    """The distances [m] that are longer than the straight line, both ways; on a large site they are few."""
    closed, shape = ground.no_trench.buffer(-0.05), (len(xy), len(xy))
    if closed.is_empty or len(xy) < 2:
        return csr_array(shape)
    shapely.prepare(closed)
    first, second = _hidden(closed, xy)
    walked = _walked(ground, closed, xy, first, second)
    more = walked > np.hypot(*(xy[first] - xy[second]).T)
    pairs = np.stack([first[more], second[more]])
    return csr_array((np.tile(walked[more], 2), np.hstack([pairs, pairs[::-1]])), shape=shape)


def _walked(
    ground: Ground, closed: shapely.Geometry, xy: NDArray[np.float64], first: NDArray[np.intp], second: NDArray[np.intp]
) -> NDArray[np.float64]:
    """Ways [m] on the grid between the points of pairs that are in order; 0 where none was followed so far."""
    low = np.minimum(np.array(ground.extent[:2]), xy.min(axis=0)) - 1.0
    high = np.maximum(np.array(ground.extent[2:]), xy.max(axis=0)) + 1.0
    step = max(0.4, min(_COARSEST, float(np.sqrt(np.prod(high - low) / _NODES))))
    nodes, graph = _grid(closed, low, high, step)
    nearest = cKDTree(nodes).query(xy)[1]
    limit = np.inf if len(xy) <= _LARGE else _LONGEST * _FAR
    walked = [np.zeros(0)]
    for start in range(0, len(xy), _BLOCK):
        chosen = slice(*np.searchsorted(first, (start, start + _BLOCK)))
        if len(first[chosen]):
            own, place = np.unique(first[chosen], return_inverse=True)
            ways = dijkstra(graph, directed=False, indices=nearest[own], limit=limit)
            walked.append(ways[place, nearest[second[chosen]]])
    found = np.concatenate(walked)
    return np.where(np.isfinite(found), found, 0.0)


def _hidden(closed: shapely.Geometry, xy: NDArray[np.float64]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of a point and a later one that do not see each other, in order."""
    if len(xy) <= _LARGE:
        first, second = np.triu_indices(len(xy), 1)
    else:
        pairs = cKDTree(xy).query_pairs(_FAR, output_type="ndarray")
        first, second = pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))].T
    blocked = [
        shapely.intersects(closed, shapely.linestrings(np.stack([xy[first[part]], xy[second[part]]], axis=1)))
        for part in np.array_split(np.arange(len(first)), max(1, len(first) // _PAIRS))
    ]
    hidden = np.concatenate(blocked)
    return first[hidden], second[hidden]


def _grid(
    closed: shapely.Geometry, low: NDArray[np.float64], high: NDArray[np.float64], step: float
) -> tuple[NDArray[np.float64], csr_array]:
    across, up = np.arange(low[0], high[0] + step, step), np.arange(low[1], high[1] + step, step)
    columns, rows = len(across), len(up)
    nodes = np.stack(np.meshgrid(across, up, indexing="ij"), axis=2)
    dear = np.where(shapely.intersects_xy(closed, nodes[..., 0], nodes[..., 1]), _DETOUR, 1.0)
    number = np.arange(columns * rows).reshape(columns, rows)
    starts, ends, weights = [], [], []
    for dx, dy in _STEPS:
        here = (slice(0, columns - dx), slice(max(0, -dy), rows - max(0, dy)))
        there = (slice(dx, columns), slice(max(0, dy), rows - max(0, -dy)))
        starts.append(number[here].ravel())
        ends.append(number[there].ravel())
        weights.append((np.maximum(dear[here], dear[there]) * step * np.hypot(dx, dy)).ravel())
    where = (np.concatenate(starts), np.concatenate(ends))
    graph = csr_array((np.concatenate(weights), where), shape=(columns * rows, columns * rows))
    return nodes.reshape(-1, 2), graph
