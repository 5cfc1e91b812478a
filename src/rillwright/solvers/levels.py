"""Pipes as points with heights and volumes: what standing water and trapped air need to know of a net.

Pipes lie at the ground less the cover; every point stands for a stretch of at most 0.1 m and its share of the volume.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import shapely

from rillwright.model.plan import Head, Pipe, Point
from rillwright.model.terrain import Terrain
from rillwright.physics.pipes import area
from rillwright.solvers.fittings import riser

__all__ = ["Levels"]

_STEP = 0.1  # [m] of pipe to one point
_RISER_POINTS = 4


@dataclass(slots=True)
class Levels:
    """A net of pipes as points with heights [m] and volumes [m³], joined by edges."""

    height: list[float] = field(default_factory=list)
    share: list[float] = field(default_factory=list)
    at: list[Point] = field(default_factory=list)
    edges: list[tuple[int, int]] = field(default_factory=list)
    joint: dict[str, int] = field(default_factory=dict)  # by node
    rows: dict[str, list[int]] = field(default_factory=dict)  # by pipe: its points from start to end
    outlet: dict[str, int] = field(default_factory=dict)  # by head: the point at the ground

    @classmethod
    def of(
        cls,
        pipes: Sequence[Pipe],
        *,
        terrain: Terrain,
        depth: float,
        heads: Sequence[Head] = (),
        logged: Mapping[str, float] | None = None,
    ) -> "Levels":
        """Cut pipes, and the risers of the heads on them, into points.

        Parameters: pipes of one net; terrain; depth [m] of cover; heads, of which those on no pipe are left out;
        logged, by pipe the cover [m] that was measured. Where pipes of different cover meet, the deepest counts.
        """
        net = cls()
        covers = {pipe.id: (logged or {}).get(pipe.id, depth) for pipe in pipes}
        deepest: dict[str, float] = {}
        for pipe in pipes:
            for node in (pipe.start, pipe.end):
                deepest[node] = max(deepest.get(node, -math.inf), covers[pipe.id])
        for pipe in pipes:
            for node, at in ((pipe.start, pipe.path[0]), (pipe.end, pipe.path[-1])):
                if node not in net.joint:
                    net.joint[node] = net._point(terrain.at(*at) - deepest[node], 0.0, at)
            line = shapely.LineString(pipe.path)
            cells = max(1, math.ceil(line.length / _STEP))
            middles = line.interpolate((np.arange(cells) + 0.5) / cells, normalized=True)
            spots = shapely.get_coordinates(middles)
            net.rows[pipe.id] = net._string(
                net.joint[pipe.start],
                terrain.height(spots) - covers[pipe.id],
                net.joint[pipe.end],
                spots=[(float(x), float(y)) for x, y in spots],
                volume=area(pipe.bore) * pipe.length / cells,
            )
        for head in (head for head in heads if head.id in net.joint):
            net._rise(head, net.joint[head.id])
        return net

    @property
    def volume(self) -> float:
        """Volume [m³] of all of it."""
        return math.fsum(self.share)

    def neighbours(self) -> Mapping[int, list[int]]:
        """The points that an edge joins to each point."""
        near: dict[int, list[int]] = {point: [] for point in range(len(self.height))}
        for a, b in self.edges:
            near[a].append(b)
            near[b].append(a)
        return near

    def _point(self, height: float, volume: float, at: Point) -> int:
        self.height.append(float(height))
        self.share.append(volume)
        self.at.append(at)
        return len(self.height) - 1

    def _string(
        self, start: int, heights: Collection[float], end: int, *, spots: Sequence[Point], volume: float
    ) -> list[int]:
        """Join two points by a row of points of one volume each; gives the row with both ends."""
        between = [self._point(height, volume, at) for height, at in zip(heights, spots, strict=True)]
        row = [start, *between, end]
        self.edges += pairwise(row)
        return row

    def _rise(self, head: Head, joint: int) -> None:
        """Put a head's riser on its joint, up to the ground."""
        link = riser(head, start=head.id, end=head.id)
        low, volume = self.height[joint], area(link.bore) * link.length / _RISER_POINTS
        self.outlet[head.id] = self._point(head.ground, 0.0, head.at)
        parts = (np.arange(_RISER_POINTS) + 0.5) / _RISER_POINTS
        heights = low + parts * (head.ground - low)
        self._string(joint, heights, self.outlet[head.id], spots=[head.at] * _RISER_POINTS, volume=volume)
