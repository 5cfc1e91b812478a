"""Pipe that is in the ground already: the places along it where new pipe may join."""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString

from rillwright.solvers.routing.patches import Ints
from rillwright.solvers.routing.surfaces import Floats

__all__ = ["follow", "keep_off"]

ON_LINE = 0.15  # [m] a point this near to a pipe in the ground stands on it
STATION = 3.0  # [m] between places along it where new pipe may join
TEE_REACH = 8.0  # [m] from a point to a pipe in the ground it may be joined to square


def follow(lines: Sequence[Sequence[tuple[float, float]]], given: Floats, first_free: int) -> tuple[list[Ints], Floats]:
    """Nodes along each line in order, and the places of those that are new.

    A given point on a line is a node of it; the others are the line's corners, stations along it, and the places
    square across from given points near it. New nodes are numbered from first_free.
    """
    chains: list[Ints] = []
    spots: list[tuple[float, float]] = []
    for path in lines:
        line = LineString(path)
        gaps = shapely.distance(line, shapely.points(given))
        along = shapely.line_locate_point(line, shapely.points(given))
        on = np.flatnonzero(gaps <= ON_LINE)
        wanted = [
            *(float(line.project(shapely.Point(corner))) for corner in path),
            *along[(gaps > ON_LINE) & (gaps <= TEE_REACH)].tolist(),
            *np.linspace(0.0, line.length, 2 + int(line.length / STATION)).tolist(),
        ]
        places: list[tuple[float, int]] = [(float(along[k]), int(k)) for k in on]
        for at in wanted:
            if all(abs(at - there) > ON_LINE for there, _ in places):
                spot = line.interpolate(at)
                places.append((at, first_free + len(spots)))
                spots.append((spot.x, spot.y))
        chains.append(np.array([node for _, node in sorted(places)], dtype=np.int64))
    return chains, np.array(spots, dtype=float).reshape(-1, 2)


def keep_off(spots: Floats, candidates: Floats) -> Floats:
    """Candidates that do not crowd the places along pipe in the ground."""
    if len(spots) == 0 or len(candidates) == 0:
        return candidates
    near = shapely.STRtree(shapely.points(spots)).query(shapely.points(candidates), "dwithin", ON_LINE)[0]
    return np.delete(candidates, np.unique(near), axis=0)
