"""The ground's surface from spot heights."""

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import ConvexHull, QhullError
from shapely.geometry import LineString

__all__ = ["Terrain"]

Floats = NDArray[np.float64]


class Terrain:
    """Heights anywhere: linear over the Delaunay triangles of the spot heights.

    Outside them the height is that of the nearest point of their hull, so the surface never jumps. Spots in one
    line give an even fall from each to the next along the line, and no fall across it; one spot gives level
    ground, and none gives level ground at the stated height.
    """

    def __init__(self, spots: ArrayLike, heights: ArrayLike, *, level: float = 0.0) -> None:
        """Spots (n, 2) [m], heights (n,) [m]; level [m] used when there are none."""
        self._spots: Floats = np.asarray(spots, dtype=float).reshape(-1, 2)
        self._heights: Floats = np.asarray(heights, dtype=float)
        self._level = level
        self._linear: LinearNDInterpolator | None = None
        if len(self._spots) >= 3:
            try:
                self._linear = LinearNDInterpolator(self._spots, self._heights)
                self._hull: Floats = self._spots[ConvexHull(self._spots).vertices]
            except QhullError:
                self._linear = None

    def height(self, points: ArrayLike) -> Floats:
        """Ground height [m] at points (n, 2) [m]; returns (n,)."""
        xy = np.asarray(points, dtype=float).reshape(-1, 2)
        if len(self._spots) == 0:
            return np.full(len(xy), self._level)
        if self._linear is None:
            return self._along_line(xy)
        values: Floats = np.asarray(self._linear(xy), dtype=float)
        outside = np.isnan(values)
        if outside.any():
            values[outside] = self._from_hull(xy[outside], self._linear)
        return values

    def at(self, x: float, y: float) -> float:
        """Ground height [m] at one point."""
        return float(self.height([(x, y)])[0])

    def along(self, path: ArrayLike, *, step: float = 0.1) -> Floats:
        """Ground heights [m] along a path (n, 2) [m], at its corners and at most `step` [m] apart.

        A path may stay in one place, as the main does where a valve place stands at the entry.
        """
        line = LineString(np.asarray(path, dtype=float))
        return self.height(shapely.get_coordinates(shapely.segmentize(line, step) if line.length > 0 else line))

    def gradient(self, points: ArrayLike, *, reach: float = 1.0) -> Floats:
        """Rise [m/m] along x and along y at points (n, 2), by differences over `reach` [m]; returns (n, 2)."""
        xy = np.asarray(points, dtype=float).reshape(-1, 2)
        steps = reach / 2 * np.array(((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)))
        heights = self.height(xy[:, None, :] + steps).reshape(-1, 4)
        return (heights[:, :2] - heights[:, 2:]) / reach

    def slope(self, points: ArrayLike, *, reach: float = 1.0) -> Floats:
        """Steepest fall [m/m] at points (n, 2), by differences over `reach` [m]; returns (n,)."""
        return np.asarray(np.linalg.norm(self.gradient(points, reach=reach), axis=1))

    def _along_line(self, xy: Floats) -> Floats:
        """Heights by place along the best line through the spots."""
        middle = self._spots.mean(axis=0)
        direction = np.linalg.svd(self._spots - middle, full_matrices=False)[2][0]
        place = (self._spots - middle) @ direction
        order = np.argsort(place)
        return np.asarray(np.interp((xy - middle) @ direction, place[order], self._heights[order]), dtype=float)

    def _from_hull(self, xy: Floats, linear: LinearNDInterpolator) -> Floats:
        """Heights at the nearest points of the hull, taken a hair inside it."""
        start, end = self._hull, np.roll(self._hull, -1, axis=0)
        edge = end - start
        along = np.einsum("pei,ei->pe", xy[:, None, :] - start, edge) / np.einsum("ei,ei->e", edge, edge)
        foot = start + np.clip(along, 0.0, 1.0)[:, :, None] * edge
        best = np.argmin(np.linalg.norm(xy[:, None, :] - foot, axis=2), axis=1)
        nearest = foot[np.arange(len(xy)), best]
        values: Floats = np.asarray(linear(nearest + 1e-7 * (self._hull.mean(axis=0) - nearest)), dtype=float)
        missed = np.isnan(values)
        if missed.any():
            gap = np.linalg.norm(nearest[missed][:, None, :] - self._spots[None, :, :], axis=2)
            values[missed] = self._heights[np.argmin(gap, axis=1)]
        return values
