"""How evenly water falls: the trade's measures, on catch cans or on a grid of depths.

A depth may be a depth, a volume in equal cans, or a rate: every measure here is a ratio. Cells count alike.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Windows",
    "christiansen_uniformity",
    "distribution_uniformity",
    "run_time_multiplier",
    "scheduling_coefficient",
]

Depths = NDArray[np.float64]
Cells = NDArray[np.int32]


def christiansen_uniformity(depth: Depths) -> float:
    """Christiansen's coefficient of uniformity: 1 less the mean deviation from the mean, as a share of the mean.

    Parameters: depth, any shape, at least 0, at least one value. Returns: CU [-], at most 1, negative when most of the
    ground is dry; 0 where no water falls at all. Errors: ValueError for no or negative depths.
    Source: Christiansen 1942, University of California Bulletin 670.

    >>> christiansen_uniformity(np.array([8.0, 12.0]))
    0.8
    """
    mean = _mean(depth)
    return float(1 - np.abs(depth - mean).mean() / mean) if mean > 0 else 0.0


def distribution_uniformity(depth: Depths, *, share: float = 0.25) -> float:
    """Distribution uniformity: mean of the driest share of the ground over the mean of all of it.

    Parameters: depth, any shape, at least 0; share [-] of the ground, above 0 and at most 1: 0.25 is the low quarter,
    0.5 the low half. When the share ends inside a cell, that part of the cell counts.
    Returns: DU [-], 0 to 1; 0 where no water falls at all. Errors: ValueError for no or negative depths or a bad share.
    Source: USDA NRCS National Engineering Handbook 623, chapter 11.

    >>> distribution_uniformity(np.array([6.0, 10.0, 12.0, 12.0]))
    0.6
    """
    if not 0 < share <= 1:
        raise ValueError("the share of the ground must be above 0 and at most 1")
    mean = _mean(depth)
    if mean == 0:
        return 0.0
    wanted = depth.size * share
    whole = min(int(wanted), depth.size - 1)
    ordered = np.partition(depth, whole, axis=None)
    driest = (ordered[:whole].sum() + (wanted - whole) * ordered[whole]) / wanted
    return float(driest / mean)


def scheduling_coefficient(
    depth: Depths, *, mask: NDArray[np.bool_], share: float = 0.05
) -> tuple[float, tuple[int, int]]:
    """Scheduling coefficient: mean of all the ground over the mean of its driest window.

    The window is a square of cells round a cell of the ground, just large enough to hold the share of the ground; at
    an edge or in a narrow strip it grows until it does. Cells outside the mask count for nothing.
    Parameters: depth, shape (rows, columns), at least 0 inside the mask; mask, same shape, True where ground is to be
    watered; share [-] of the ground, above 0 and at most 1; trade figures use 0.01 to 0.10, so say which.
    Returns: coefficient [-], at least 1 but for rounding of the window, infinite where the driest window gets no
    water; and row and column of the window's centre. Errors: ValueError for no ground, negative depths, a bad share.
    Source: definition of the Irrigation Association, from memory; growth at edges is ours.

    >>> scheduling_coefficient(np.array([[4.0, 5.0, 6.0]]), mask=np.full((1, 3), True), share=0.3)
    (1.25, (0, 0))
    """
    return Windows.of(mask, share=share).coefficient(depth)


@dataclass(frozen=True, slots=True)
class Windows:
    """The windows round every cell of a ground, whose driest is looked for: the same for every depth on that ground."""

    mask: NDArray[np.bool_]  # shape (rows, columns), True where ground is to be watered
    rows: Cells  # of the cells of the ground
    columns: Cells
    half: Cells  # cells to each side of the middle one
    held: Depths  # cells of the ground in each window

    @staticmethod
    def of(mask: NDArray[np.bool_], *, share: float) -> "Windows":
        """Windows that hold the share [-] of the ground; errors as for scheduling_coefficient."""
        if not 0 < share <= 1:
            raise ValueError("the share of the ground must be above 0 and at most 1")
        ground = _integral(mask.astype(np.float64))
        rows, columns = (axis.astype(np.int32) for axis in np.nonzero(mask))
        half = _least_half(ground, rows, columns, wanted=share * rows.size, largest=max(mask.shape))
        return Windows(mask, rows, columns, half, _sums(ground, rows, columns, half))

    def coefficient(self, depth: Depths) -> tuple[float, tuple[int, int]]:
        """The scheduling coefficient of a depth and the middle of its driest window, as scheduling_coefficient."""
        mean = _mean(depth[self.mask])
        water = _integral(np.where(self.mask, depth, 0.0))
        window = _sums(water, self.rows, self.columns, self.half) / self.held
        driest = int(np.argmin(window))
        centre = int(self.rows[driest]), int(self.columns[driest])
        lowest = max(float(window[driest]), 0.0)
        return (mean / lowest if lowest > 1e-12 * mean else float("inf")), centre


def run_time_multiplier(uniformity: float) -> float:
    """Factor on the run time that makes up for unevenness, from the low-quarter DU [-].

    Parameters: uniformity [-], 0 to 1. Returns: multiplier [-], 1 for even water, 2.5 at the worst.
    Errors: ValueError outside 0..1. Source: Irrigation Association scheduling text, from memory.

    >>> round(run_time_multiplier(0.7), 3)
    1.22
    """
    if not 0 <= uniformity <= 1:
        raise ValueError("a distribution uniformity lies between 0 and 1")
    return 1 / (0.4 + 0.6 * uniformity)


def _mean(depth: Depths) -> float:
    if depth.size == 0 or depth.min() < 0:
        raise ValueError("evenness needs at least one depth, and none below 0")
    return float(depth.mean())


def _integral(values: Depths) -> Depths:
    """Sums of all values above and left of each cell corner; shape grows by one each way."""
    return np.pad(values.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))


def _sums(integral: Depths, rows: Cells, columns: Cells, half: Cells) -> Depths:
    """Sums over the squares of 2·half + 1 cells a side round each cell, cut off at the edge of the grid."""
    top, bottom = np.maximum(rows - half, 0), np.minimum(rows + half + 1, integral.shape[0] - 1)
    left, right = np.maximum(columns - half, 0), np.minimum(columns + half + 1, integral.shape[1] - 1)
    sums: Depths = integral[bottom, right] - integral[top, right] - integral[bottom, left] + integral[top, left]
    return sums


def _least_half(ground: Depths, rows: Cells, columns: Cells, *, wanted: float, largest: int) -> Cells:
    """Least half width of the square round each cell that holds the wanted number of cells; bisection in step."""
    low = np.zeros_like(rows)
    high = np.full_like(rows, largest)
    while (low < high).any():
        middle = (low + high) // 2
        enough = _sums(ground, rows, columns, middle) >= wanted - 1e-9
        high = np.where(enough, middle, high)
        low = np.where(enough, low, middle + 1)
    return high
