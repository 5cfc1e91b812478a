"""Low-head drainage: what runs out of the lowest heads of a zone when it stops, and where check valves hold it.

Statement. The full laterals of a zone are a tree of points at heights z. Its outlets are the heads, retracted: at the
ground, or, with a check valve, as high over it as the valve holds. Air gets in at every open head and climbs in the
pipe, and no siphon carries water over a crest. So the water at a point runs out when the points no higher than it that
hang together with it hold an outlet; it runs out of the lowest of these. What is trapped below stays. The volume is
the sum of the points' shares of pipe and riser.

Check valves go to the least set of heads after which no open head lets out more than LARGEST_PUDDLE. One over that
is in every such set that holds the valves chosen so far, since a further valve never lessens what another head lets
out; so heads over it are taken until none is left, and the set is unique. No seed; one pass for each round of heads.
See docs/theory/water.md.
"""

import math
from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from rillwright.model.drainage import HIGHEST_HOLD, LARGEST_PUDDLE, CheckedHead, Drainage
from rillwright.model.plan import Head, Pipe
from rillwright.model.site import Yard
from rillwright.model.terrain import Terrain
from rillwright.solvers.drain_kernels import run_out
from rillwright.solvers.levels import Levels
from rillwright.solvers.takeoff import FedZone

__all__ = ["ways_out", "zone_drainage"]


def zone_drainage(
    zone: FedZone, heads: Sequence[Head], pipes: Sequence[Pipe], *, terrain: Terrain, yard: Yard
) -> Drainage:
    """What a zone lets out each time it stops, without check valves and with those that the yard's choice gives it.

    Parameters: zone; heads and pipes of the plan; terrain; yard, for the depth of its trenches and
    heads.check_valves. Returns: volumes [m³] and heights [m].
    """
    members = set(zone.heads)
    own = [head for head in heads if head.id in members]
    laterals = [pipe for pipe in pipes if pipe.zone == zone.id]
    net = Levels.of(laterals, terrain=terrain, depth=yard.rules.trench_depth, heads=own)
    bare = _drained(net, ())
    checked: set[str] = set()
    left = bare
    if yard.heads.check_valves == "where needed":
        while over := {head for head, volume in left.items() if volume > LARGEST_PUDDLE} - checked:
            checked |= over
            left = _drained(net, checked)
    worst = max(bare, key=lambda head: (bare[head], head), default=None)
    wettest = max(left, key=lambda head: (left[head], head), default=None)
    stands = _columns(net, checked) if checked else {}
    return Drainage(
        zone=zone.id,
        holds=net.volume,
        unchecked=math.fsum(bare.values()),
        worst=worst,
        at_worst=bare[worst] if worst else 0.0,
        checked=tuple(CheckedHead(head=head, column=stands[head]) for head in zone.heads if head in checked),
        left=math.fsum(left.values()),
        wettest=wettest,
        at_wettest=left[wettest] if wettest else 0.0,
    )


def _drained(net: Levels, checked: Collection[str]) -> dict[str, float]:
    """Volume [m³] that runs out of each head that lets any out."""
    ways = _ways(net, checked)
    out = np.bincount(ways + 1, weights=net.share, minlength=len(net.outlet) + 1)[1:]
    return {head: float(volume) for head, volume in zip(net.outlet, out, strict=True) if volume > 0}


def _columns(net: Levels, checked: Collection[str]) -> dict[str, float]:
    """Height [m] of the water that stays over each checked head."""
    full = _ways(net, checked) < 0
    a, b = np.array(net.edges, dtype=np.int64).reshape(-1, 2).T
    kept = full[a] & full[b]
    joined = coo_array((np.ones(kept.sum()), (a[kept], b[kept])), shape=(len(full), len(full)))
    _, pool = connected_components(joined, directed=False)
    top = np.full(len(full), -np.inf)
    np.maximum.at(top, pool[full], np.array(net.height)[full])
    return {head: float(top[pool[net.outlet[head]]]) - net.height[net.outlet[head]] for head in checked}


def _ways(net: Levels, checked: Collection[str]) -> NDArray[np.int64]:
    """For each point (n,) the head, by its place in `net.outlet`, that its water runs out of; -1 where it stays."""
    heads = sorted(net.outlet)  # of two at one level the first by name
    points = [net.outlet[head] for head in heads]
    holds = [HIGHEST_HOLD if head in checked else 0.0 for head in heads]
    ways = ways_out(net, [(point, net.height[point] + hold) for point, hold in zip(points, holds, strict=True)])
    place = {head: number for number, head in enumerate(net.outlet)}
    return np.array([*(place[head] for head in heads), -1])[ways]


def ways_out(net: Levels, outlets: Sequence[tuple[int, float]]) -> NDArray[np.int64]:
    """For each point (n,) of a full net the number of the outlet that its water runs out of; -1 where it stays.

    Parameters: outlets, each a point and the level [m] down to which it lets water out. Of outlets on one level the
    first in the list counts as the lower.
    """
    points = len(net.height)
    level = np.array([one for _, one in outlets])
    lowest_first = np.argsort(level, kind="stable")
    at = np.array([outlets[k][0] for k in lowest_first], dtype=np.int64)
    heights = np.concatenate([net.height, level[lowest_first]])
    order = np.lexsort((np.arange(len(heights)), np.arange(len(heights)) >= points, heights))
    a, b = np.array(net.edges, dtype=np.int64).reshape(-1, 2).T
    near = coo_array((np.ones(2 * len(a)), (np.r_[a, b], np.r_[b, a])), shape=(points, points)).tocsr()
    ways = run_out(order, at, near.indptr, near.indices)
    return np.where(ways >= 0, np.append(lowest_first, -1)[ways], -1)
