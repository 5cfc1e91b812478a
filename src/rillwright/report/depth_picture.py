"""The water on a lawn as bytes that a screen can colour: one for each cell, against the lawn's mean."""

import base64
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.model.plan import Lawn

__all__ = ["FULL", "STEP", "LawnDepth", "pack"]

STEP = 0.01  # of the mean, that one count stands for
FULL = 255


@dataclass(frozen=True, slots=True)
class LawnDepth:
    """Relative depth on a grid; cell (0, 0) has its lower left corner at (x0, y0), rows go up the plan."""

    lawn: str
    x0: float  # [m]
    y0: float  # [m]
    cell: float  # [m] side
    nx: int
    ny: int
    step: float  # of the lawn's mean depth for one count; a count of 255 is that or more
    counts: str  # nx · ny bytes, row by row from the lowest, in base64


def pack(lawn: Lawn, rate: NDArray[np.float64], *, x0: float, y0: float, cell: float) -> LawnDepth:
    """Pack a rate of water [m/s], shape (ny, nx); a lawn whose mean is 0 is dry all over."""
    mean = lawn.evenness.mean_rate
    relative = rate / mean if mean > 0 else np.zeros_like(rate)
    counts = np.minimum(np.rint(relative / STEP), FULL).astype(np.uint8)
    ny, nx = rate.shape
    return LawnDepth(lawn.id, x0, y0, cell, nx, ny, STEP, base64.b64encode(counts.tobytes()).decode())
