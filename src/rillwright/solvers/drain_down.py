"""What gravity empties when a line's drain is opened, and the sags that it leaves full.

Statement. The full line is a tree of points at heights z, as in solvers.drainage: outlets are its drain, at the lowest
joint, and, in a zone, its heads without a check valve, at the ground; the water at a point leaves when the points no
higher than it that hang together with it hold an outlet. What is left forms pools: sets of joined points. A pool is a
low point; it empties only by a drain of its own, so the drains wanted are as many as there are pools over a cupful.
Exact; no seed. See docs/theory/winter.md.
"""

import math
from collections.abc import Collection, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from rillwright.model.plan import Head, Pipe
from rillwright.model.terrain import Terrain
from rillwright.model.winter import Drained, LowPoint
from rillwright.solvers.drainage import ways_out
from rillwright.solvers.levels import Levels

__all__ = ["CUPFUL", "drain_down"]

CUPFUL = 0.25e-3  # [m³] that a low point may keep: judgement, no source


def drain_down(
    line: str,
    pipes: Sequence[Pipe],
    *,
    terrain: Terrain,
    depth: float,
    heads: Sequence[Head] = (),
    logged: Mapping[str, float] | None = None,
    shut: Collection[str] = (),
) -> Drained:
    """Open the drain of a line.

    Parameters: as Levels.of; heads, of a zone; shut, those that a check valve keeps shut. Returns: volumes [m³] and low
    points.
    """
    net = Levels.of(pipes, terrain=terrain, depth=depth, heads=heads, logged=logged)
    drain = min(net.joint, key=lambda node: (net.height[net.joint[node]], node))
    point = net.joint[drain]
    outlets = [
        (point, net.height[point]),
        *((at, net.height[at]) for head, at in net.outlet.items() if head not in shut),
    ]
    kept = ways_out(net, outlets) < 0
    lows = sorted(_pools(net, kept, line, pipes), key=lambda low: (-low.volume, low.pipe, low.at))
    trapped = math.fsum(low.volume for low in lows)
    return Drained(
        line=line,
        holds=net.volume,
        drain=drain,
        at=net.at[point],
        runs_out=net.volume - trapped,
        trapped=trapped,
        low_points=tuple(lows),
        drains_wanted=sum(low.volume > CUPFUL for low in lows),
    )


def _pools(net: Levels, kept: NDArray[np.bool_], line: str, pipes: Sequence[Pipe]) -> list[LowPoint]:
    """Joined points that stay full."""
    a, b = np.array(net.edges, dtype=np.int64).reshape(-1, 2).T
    inside = kept[a] & kept[b]
    joined = coo_array((np.ones(inside.sum()), (a[inside], b[inside])), shape=(len(kept), len(kept)))
    _, pool = connected_components(joined, directed=False)
    of_point = {point: pipe for pipe, row in net.rows.items() for point in row}
    step = {pipe.id: pipe.length / max(len(net.rows[pipe.id]) - 2, 1) for pipe in pipes}
    found = []
    for number in np.unique(pool[kept]):
        points = [int(p) for p in np.flatnonzero(kept & (pool == number))]
        volume = math.fsum(net.share[p] for p in points)
        in_pipes = [p for p in points if p in of_point]
        if volume <= 0 or not in_pipes:
            continue
        lowest = min(in_pipes, key=lambda p: (net.height[p], p))
        full = math.fsum(step[of_point[p]] for p in in_pipes if net.share[p] > 0)
        found.append(LowPoint(line=line, pipe=of_point[lowest], at=net.at[lowest], volume=volume, length=full))
    return found
