"""Lines that pipe lies along whatever is planned, in the ground or held there: where other pipe may join them."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString

from rillwright.solvers.routing.patches import Ints
from rillwright.solvers.routing.surfaces import Floats

__all__ = ["follow", "keep_off"]

ON_LINE = 0.15  # [m] a point this near to a pipe in the ground stands on it
STATION = 3.0  # [m] between places along it where new pipe may join
TEE_REACH = 8.0  # [m] from a point to a pipe in the ground it may be joined to square


def follow(lines: Sequence[Sequence[tuple[float, float]]], given: Floats) -> tuple[list[Ints], Floats]:
    """Nodes along each line in order, and the places of those that are new.

    A given point on a line is a node of it; the others are the line's corners, the ends of other lines on it, stations
    along it, and the places square across from given points near it. New nodes are numbered on from the given points.
    Lines that run together have the same nodes.
    """
    points = given
    drawn = [LineString(path) for path in lines]
    ends = shapely.points(np.array([path[end] for path in lines for end in (0, -1)], dtype=float).reshape(-1, 2))
    for line in drawn:
        points = np.vstack([points, _along(line, points, given, ends)])
    chains = []
    for line in drawn:
        spots = shapely.points(points)
        on = np.flatnonzero(shapely.distance(line, spots) <= ON_LINE)
        chains.append(on[np.argsort(shapely.line_locate_point(line, spots[on]), kind="stable")])
    return chains, points[len(given) :]


def _along(line: LineString, points: Floats, given: Floats, ends: NDArray[np.object_]) -> Floats:
    """Places along a line that are to be nodes of it and that no point stands at yet."""
    spots = shapely.points(points)
    taken = shapely.line_locate_point(line, spots[shapely.distance(line, spots) <= ON_LINE]).tolist()
    gaps = shapely.distance(line, shapely.points(given))
    across = shapely.points(given)[(gaps > ON_LINE) & (gaps <= TEE_REACH)]
    wanted = np.concatenate(
        [
            shapely.line_locate_point(line, shapely.points(line.coords)),
            shapely.line_locate_point(line, ends[shapely.distance(line, ends) <= ON_LINE]),
            shapely.line_locate_point(line, across),
            np.linspace(0.0, line.length, 2 + int(line.length / STATION)),
        ]
    )
    new: list[float] = []
    for at in wanted.tolist():
        if all(abs(at - there) > ON_LINE for there in (*taken, *new)):
            new.append(at)
    return np.array([line.interpolate(at).coords[0] for at in new], dtype=float).reshape(-1, 2)


def keep_off(spots: Floats, candidates: Floats) -> Floats:
    """Candidates that do not crowd the places along given lines."""
    if len(spots) == 0 or len(candidates) == 0:
        return candidates
    near = shapely.STRtree(shapely.points(spots)).query(shapely.points(candidates), "dwithin", ON_LINE)[0]
    return np.delete(candidates, np.unique(near), axis=0)
