"""Which zone each line of lateral belongs to, chosen together.

Every line is a point that costs nothing to pass along. Minimise, over the zone of each line, the sum over zones of the
shortest tree, by straight lengths, that joins the zone's valve place, heads and lines. Lines in one trench so go to
different zones where each needs a way there. Descent from each line's best zone by itself, by giving one line to
another zone or swapping two. A heuristic without a bound, held against every choice on small cases: see
docs/theory/routing.md.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial.distance import cdist
from shapely.geometry import LineString

from rillwright.model.plan import Point

__all__ = ["line_owners"]

Path = tuple[Point, ...]


def line_owners(
    paths: Sequence[Path], ends: Mapping[str, Sequence[Point]], fixed: Mapping[int, str]
) -> tuple[str, ...]:
    """The zone of each line.

    Parameters: paths [m]; ends, valve place and heads of each zone [m]; fixed, zones of lines that are known already,
    by number of the line.
    """
    return _owners(tuple(paths), tuple((zone, tuple(at)) for zone, at in ends.items()), tuple(sorted(fixed.items())))


@lru_cache(maxsize=2_000)
def _owners(
    paths: tuple[Path, ...], ends: tuple[tuple[str, tuple[Point, ...]], ...], fixed: tuple[tuple[int, str], ...]
) -> tuple[str, ...]:
    from rillwright.solvers.routing.owner_kernel import by_themselves, descend

    zones = [zone for zone, _ in ends]
    known = np.full(len(paths), -1)
    for line, zone in fixed:
        known[line] = zones.index(zone)
    points = [at for _, own in ends for at in own]
    numbers = np.array([len(own) for _, own in ends])
    rows = np.arange(numbers.max())[None, :] + np.cumsum([0, *numbers[:-1]])[:, None]
    gaps = np.stack([_gaps(paths, at) for at in points])
    between = np.block([[cdist(points, points), gaps], [gaps.T, _apart(paths)]])
    owner = by_themselves(known, rows, numbers, between)
    descend(owner, known < 0, rows, numbers, between)
    return tuple(zones[int(zone)] for zone in owner)


@lru_cache(maxsize=20_000)
def _gaps(paths: tuple[Path, ...], at: Point) -> NDArray[np.float64]:
    """Length [m] from a point to each line."""
    return np.asarray(shapely.distance(shapely.points(at), [LineString(path) for path in paths]))


@lru_cache(maxsize=16)
def _apart(paths: tuple[Path, ...]) -> NDArray[np.float64]:
    """Length [m] between each two lines."""
    lines = np.array([LineString(path) for path in paths])
    return np.asarray(shapely.distance(lines[:, None], lines[None, :]))
