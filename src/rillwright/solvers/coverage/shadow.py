"""How far water flies before a wall stops it."""

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

__all__ = ["hit_distances", "segments_of"]

Floats = NDArray[np.float64]

_DIRECTIONS = 720


def segments_of(shape: BaseGeometry) -> Floats:
    """Every straight piece of a shape's outlines, as rows (x, y, x, y) [m]; shape (n, 4)."""
    rings = shapely.get_rings(shapely.get_parts(shape))
    if len(rings) == 0:
        return np.empty((0, 4))
    corners, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    return np.hstack((corners[:-1][same], corners[1:][same]))


def hit_distances(at: tuple[float, float], faces: Floats, *, reach: float) -> Floats:
    """Distance [m] from a point to the first face in each of 720 even directions from the x axis; inf where none.

    Parameters: at [m]; faces (n, 4) [m]; reach [m], faces farther off are left out. Returns: shape (720,).
    """
    if len(faces) == 0:
        return np.full(_DIRECTIONS, np.inf)
    start = faces[:, :2] - np.asarray(at)
    side = faces[:, 2:] - faces[:, :2]
    share = np.clip(-(start * side).sum(axis=1) / np.maximum((side * side).sum(axis=1), 1e-18), 0.0, 1.0)
    near = np.hypot(*(start + share[:, None] * side).T) <= reach
    if not near.any():
        return np.full(_DIRECTIONS, np.inf)
    start, side = start[near], side[near]
    angle = np.arange(_DIRECTIONS) * (math.tau / _DIRECTIONS)
    ray_x, ray_y = np.cos(angle)[:, None], np.sin(angle)[:, None]
    cross = ray_x * side[:, 1] - ray_y * side[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        distance = (start[:, 0] * side[:, 1] - start[:, 1] * side[:, 0]) / cross
        along = (start[:, 0] * ray_y - start[:, 1] * ray_x) / cross
    met = (distance > 0) & (along >= 0) & (along <= 1)
    return np.asarray(np.where(met, distance, np.inf).min(axis=1))
