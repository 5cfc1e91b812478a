"""Compiled inner loops of the search: the best sector of a head, and the driest spot of a trial layout."""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["best_sector", "driest_spot"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@njit(cache=True)
def best_sector(worth: Floats, care: Floats, shared: Floats, unit: float) -> tuple[int, int, int, float]:
    """Choose throw, arc and start with the most worth for the least care; of equal ones the first.

    Parameters: worth (throws, rays) [m²] of each ray out to a throw's radius; care (throws, rays) [-] against each arc
    from one ray to the circle, infinite where the nozzle has it not; shared (throws,) [-], care against the throw;
    unit, by which worth counts. Care weighs by the arc as a share of the circle.
    Returns: throw, arc [rays], start [rays], value [-]; throw -1 when nothing is worth its care.
    """
    throws, rays = worth.shape
    running = np.empty(2 * rays + 1)
    best_throw, best_arc, best_start, best = -1, 0, 0, 0.0
    for throw in range(throws):
        running[0] = 0.0
        for ray in range(2 * rays):
            running[ray + 1] = running[ray] + worth[throw, ray % rays]
        for arc in range(1, rays + 1):
            if math.isinf(care[throw, arc - 1]):
                continue
            start, most = 0, running[arc]
            if arc < rays:
                for first in range(1, rays):
                    value = running[first + arc] - running[first]
                    if value > most:
                        start, most = first, value
            value = most * unit - (care[throw, arc - 1] + shared[throw]) * arc / rays
            if value > best + 1e-12:
                best_throw, best_arc, best_start, best = throw, arc, start, value
    return best_throw, best_arc, best_start, best


@njit(cache=True)
def driest_spot(rate: Floats, cells: Whole, corners: Whole, ground: Whole) -> float:
    """Mean rate [m/s] of the driest window.

    Parameters: rate (ny, nx) [m/s]; cells (n, 2) rows and columns that count; corners (m, 4) top, bottom, left and
    right of each window; ground (m,), how many counting cells it holds.
    """
    wet = np.zeros((rate.shape[0] + 1, rate.shape[1] + 1))
    for cell in range(cells.shape[0]):
        row, column = cells[cell]
        wet[row + 1, column + 1] = max(rate[row, column], 0.0)
    for row in range(1, wet.shape[0]):
        running = 0.0
        for column in range(1, wet.shape[1]):
            running += wet[row, column]
            wet[row, column] = wet[row - 1, column] + running
    least = np.inf
    for window in range(corners.shape[0]):
        top, bottom, left, right = corners[window]
        water = wet[bottom, right] - wet[top, right] - wet[bottom, left] + wet[top, left]
        least = min(least, water / ground[window])
    return max(least, 0.0)
