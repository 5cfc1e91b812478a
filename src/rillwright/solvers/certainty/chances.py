"""Chances and bands out of draws."""

import numpy as np
from numpy.typing import NDArray

from rillwright.model.certainty import Band, Chance

__all__ = ["band_of", "chance_of"]


def chance_of(holds: NDArray[np.bool_]) -> Chance:
    """Share of the draws (n,) in which something holds.

    The error is that of independent draws, with one success and one failure added, so that a chance of 0 or 1 has one
    too (Laplace's rule of succession); quasi-random draws err less.

    >>> chance_of(np.ones(2048, dtype=bool)).error < 0.001
    True
    """
    count = len(holds)
    hits = int(np.count_nonzero(holds))
    share = (hits + 1) / (count + 2)
    return Chance(value=hits / count, error=float(np.sqrt(share * (1 - share) / count)))


def band_of(values: NDArray[np.float64]) -> Band:
    """5 %, 50 % and 95 % quantile of draws (n,)."""
    low, median, high = (float(q) for q in np.quantile(values, (0.05, 0.5, 0.95)))
    return Band(low=low, median=median, high=high)
