"""Air that gathers under the crests of a line.

Statement. Points of a net stand at heights z; its openings are heads, or the valves at the ends of a main. Air at a
point climbs, so it gets out where a way that never falls leads to an opening. Let release(p) be the greatest over all
ways from p to an opening of the least height on the way. Air stays at p down to that level: where z(p) > release(p). A
pocket is a set of such points that hang together, when its top stands over the release by more than the bore, since
air passes over less. Release levels by Dijkstra's method with min and max in place of sum and min; exact, no seed.

Water that runs down from the crest faster than clearing_velocity carries the air along to the next opening.
"""

import heapq
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from rillwright.model.flushing import AirPocket
from rillwright.model.plan import Pipe
from rillwright.physics.air import clearing_velocity
from rillwright.solvers.levels import Levels

__all__ = ["air_pockets", "release_levels"]


@dataclass(frozen=True, slots=True)
class _Fall:
    """A pipe that leads down from a crest."""

    pipe: Pipe
    slope: float  # [m/m] steepest

    @property
    def clears(self) -> float:
        """Velocity [m/s] that carries air down."""
        return clearing_velocity(self.pipe.bore, slope=self.slope)


def air_pockets(
    net: Levels, pipes: Sequence[Pipe], *, line: str, openings: Collection[int], looped: Collection[str] = ()
) -> list[AirPocket]:
    """Pockets of a line, the largest first.

    Parameters: net, the line's levels; pipes, solved, each led from start to end; openings, points at which air gets
    out while the line runs; looped, pipes in which the water may run either way.
    """
    release = release_levels(net, openings)
    over = [z - release.get(point, -float("inf")) for point, z in enumerate(net.height)]
    found = [
        pocket
        for points in _pools(net, [point for point, depth in enumerate(over) if depth > 0])
        if (pocket := _pocket(net, points, over, pipes, line, looped)) is not None
    ]
    return sorted(found, key=lambda pocket: (-pocket.volume, pocket.pipe))


def release_levels(net: Levels, openings: Collection[int]) -> dict[int, float]:
    """Height [m] over which air is held at each point, by point; only points that hang together with an opening."""
    near = net.neighbours()
    found: dict[int, float] = {}
    heap = [(-net.height[point], point) for point in sorted(openings)]
    heapq.heapify(heap)
    while heap:
        level, point = heapq.heappop(heap)
        if point not in found:
            found[point] = -level
            for other in near[point]:
                if other not in found:
                    heapq.heappush(heap, (-min(-level, net.height[other]), other))
    return found


def _pools(net: Levels, points: Sequence[int]) -> Iterator[list[int]]:
    """Sets of points that hang together."""
    near, left = net.neighbours(), set(points)
    for first in points:
        pool, stack = [], [first] if first in left else []
        left.discard(first)
        while stack:
            point = stack.pop()
            pool.append(point)
            onward = [other for other in near[point] if other in left]
            left.difference_update(onward)
            stack += onward
        if pool:
            yield pool


def _pocket(
    net: Levels,
    points: Sequence[int],
    over: Sequence[float],
    pipes: Sequence[Pipe],
    line: str,
    looped: Collection[str],
) -> AirPocket | None:
    """The pocket at some points; None where air passes over."""
    held = set(points)
    top = max(points, key=lambda point: (over[point], -point))
    at_top = next(pipe for pipe in pipes if top in net.rows[pipe.id])
    if over[top] <= at_top.bore:
        return None
    falls = [fall for pipe in pipes if (fall := _fall(net, pipe, held, both=pipe.id in looped)) is not None]
    worst = max(falls or [_Fall(at_top, 0.0)], key=lambda fall: (fall.clears - fall.pipe.velocity, fall.pipe.id))
    return AirPocket(
        line=line,
        pipe=at_top.id,
        at=net.at[top],
        rise=over[top],
        volume=sum(net.share[point] for point in points),
        falls_in=worst.pipe.id,
        bore=worst.pipe.bore,
        slope=worst.slope,
        velocity=worst.pipe.velocity,
        clears=worst.clears,
    )


def _fall(net: Levels, pipe: Pipe, held: Collection[int], *, both: bool) -> _Fall | None:
    """A pipe's steepest fall inside a pocket, along its flow or, where it may run either way, along both."""
    row = net.rows[pipe.id]
    step = pipe.length / max(len(row) - 2, 1)
    drops = [net.height[a] - net.height[b] for a, b in pairwise(row) if a in held or b in held]
    steepest = max((abs(drop) if both else drop for drop in drops), default=0.0)
    return _Fall(pipe, min(steepest / step, 1.0)) if steepest > 0 and step > 0 else None
