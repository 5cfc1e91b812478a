"""The ground's surface from spot heights."""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import QhullError

__all__ = ["Terrain"]

Floats = NDArray[np.float64]


class Terrain:
    """Heights anywhere: linear over the Delaunay triangles of the spot heights, nearest spot outside them.

    With no spots the ground is level at the given height; with one or two, or all in a line, the nearest spot
    counts everywhere.
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
            except QhullError:
                self._linear = None

    def height(self, points: ArrayLike) -> Floats:
        """Ground height [m] at points (n, 2) [m]; returns (n,)."""
        xy = np.asarray(points, dtype=float).reshape(-1, 2)
        if len(self._spots) == 0:
            return np.full(len(xy), self._level)
        values = np.full(len(xy), np.nan) if self._linear is None else np.asarray(self._linear(xy), dtype=float)
        outside = np.isnan(values)
        if outside.any():
            values[outside] = self._from_hull(xy[outside])
        return values

    def at(self, x: float, y: float) -> float:
        """Ground height [m] at one point."""
        return float(self.height([(x, y)])[0])

    def slope(self, points: ArrayLike, *, reach: float = 1.0) -> Floats:
        """Steepest fall [m/m] at points (n, 2), by differences over `reach` [m]; returns (n,)."""
        xy = np.asarray(points, dtype=float).reshape(-1, 2)
        half = reach / 2
        east = (self.height(xy + np.array((half, 0.0))) - self.height(xy - np.array((half, 0.0)))) / reach
        north = (self.height(xy + np.array((0.0, half))) - self.height(xy - np.array((0.0, half)))) / reach
        return np.asarray(np.hypot(east, north))

    def _from_hull(self, xy: Floats) -> Floats:
        distance = np.linalg.norm(xy[:, None, :] - self._spots[None, :, :], axis=2)
        return np.asarray(self._heights[np.argmin(distance, axis=1)])
