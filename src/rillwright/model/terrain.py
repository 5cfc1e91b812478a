"""The ground's surface from spot heights."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import ConvexHull, Delaunay, QhullError
from shapely.geometry import LineString

from rillwright.physics.surface_kernels import surface_heights

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
        self._surface: tuple[NDArray[Any], ...] | None = None
        if len(self._spots) >= 3:
            try:
                mesh, hull = Delaunay(self._spots), self._spots[ConvexHull(self._spots).vertices]
            except QhullError:
                return
            self._surface = mesh.transform, mesh.neighbors, mesh.simplices, self._spots, self._heights, hull

    def height(self, points: ArrayLike) -> Floats:
        """Ground height [m] at points (n, 2) [m]; returns (n,)."""
        xy = np.asarray(points, dtype=float).reshape(-1, 2)
        if len(self._spots) == 0:
            return np.full(len(xy), self._level)
        if self._surface is None:
            return self._along_line(xy)
        return np.asarray(surface_heights(xy, *self._surface))

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
