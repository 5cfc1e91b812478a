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
from collections import defaultdict
from collections.abc import Collection, Sequence

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from rillwright.model.drainage import HIGHEST_HOLD, LARGEST_PUDDLE, CheckedHead, Drainage
from rillwright.model.plan import Head, Pipe
from rillwright.model.site import Yard
from rillwright.model.terrain import Terrain
from rillwright.solvers.levels import Levels
from rillwright.solvers.takeoff import FedZone

__all__ = ["zone_drainage"]


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
    stands = _columns(net, checked)
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
    out: dict[str, float] = defaultdict(float)
    for point, head in _ways(net, checked).items():
        out[head] += net.share[point]
    return {head: volume for head, volume in out.items() if volume > 0}


def _columns(net: Levels, checked: Collection[str]) -> dict[str, float]:
    """Height [m] of the water that stays over each checked head."""
    gone = _ways(net, checked)
    number = len(net.height)
    kept = [(a, b) for a, b in net.edges if a not in gone and b not in gone]
    a, b = np.array(kept, dtype=int).reshape(-1, 2).T
    _, pool = connected_components(coo_array((np.ones(len(a)), (a, b)), shape=(number, number)), directed=False)
    top = np.full(number, -np.inf)
    full = np.array([point not in gone for point in range(number)])
    np.maximum.at(top, pool[full], np.array(net.height)[full])
    return {head: float(top[pool[net.outlet[head]]]) - net.height[net.outlet[head]] for head in checked}


def _ways(net: Levels, checked: Collection[str]) -> dict[int, str]:
    """The head that the water at each point runs out of; points that stay full are left out.

    Points join up from the lowest to the highest; each group remembers its lowest outlet.
    """
    level = {head: net.height[at] + (HIGHEST_HOLD if head in checked else 0.0) for head, at in net.outlet.items()}
    near = net.neighbours()
    events = [(height, 0, point, "") for point, height in enumerate(net.height)]
    events += [(level[head], 1, at, head) for head, at in net.outlet.items()]
    root: dict[int, int] = {}
    lowest: dict[int, str] = {}
    ways: dict[int, str] = {}

    def top(point: int) -> int:
        while root[point] != point:
            root[point] = root[root[point]]
            point = root[point]
        return point

    for _, _, point, head in sorted(events):
        if head:
            lowest.setdefault(top(point), head)
            continue
        root[point] = point
        for other in (top(n) for n in near[point] if n in root):
            mine = top(point)
            found = [lowest[group] for group in (mine, other) if group in lowest]
            root[other] = mine
            if found:
                lowest[mine] = min(found, key=lambda name: (level[name], name))
        if top(point) in lowest:
            ways[point] = lowest[top(point)]
    return ways
