"""Evenness by cups alone, and by cups and model together, each with its band."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.physics.evenness import christiansen_uniformity, distribution_uniformity
from rillwright.solvers.cups.law import Cup
from rillwright.solvers.cups.picture import Picture

__all__ = ["Band", "EvennessFound", "cups_alone", "evenness_found"]

Floats = NDArray[np.float64]
Band = tuple[float, float, float]

_RESAMPLED = 2000
_DRAWN = 500
_QUANTILES = (0.05, 0.5, 0.95)


@dataclass(frozen=True, slots=True)
class EvennessFound:
    """Evenness with its bands: 5 %, 50 % and 95 %."""

    du: Band  # [-] low quarter
    cu: Band  # [-] Christiansen
    depth: Band  # [m] mean


def cups_alone(cups: Sequence[Cup], *, seed: int = 0) -> EvennessFound:
    """Evenness of the cups with its sampling band, by drawing as many cups again with replacement.

    The middle is that of the cups themselves; the band is about it, turned over (basic bootstrap), since drawing again
    makes uneven cups look more uneven still. Source: Davison and Hinkley, Bootstrap Methods (1997) 5.2, from memory.
    """
    depth = np.array([cup.depth for cup in cups])
    again = depth[np.random.default_rng(seed).integers(len(depth), size=(_RESAMPLED, len(depth)))]
    return EvennessFound(
        *(
            _turned(measure(depth), np.array([measure(row) for row in again]))
            for measure in (distribution_uniformity, christiansen_uniformity, lambda row: float(row.mean()))
        )
    )


def _turned(middle: float, again: Floats) -> Band:
    low, high = np.quantile(again, (0.05, 0.95))
    return max(0.0, 2 * middle - float(high)), middle, min(max(2 * middle - float(low), middle), max(1.0, middle))


def evenness_found(picture: Picture, *, seed: int = 0) -> EvennessFound:
    """Evenness of the ground as cups and model tell it, the picture drawn many times."""
    depth = picture.drawn(_DRAWN, seed=seed)
    du, cu, mean = (
        np.quantile([measure(row) for row in depth], _QUANTILES)
        for measure in (distribution_uniformity, christiansen_uniformity, np.mean)
    )
    return EvennessFound(_band(du), _band(cu), _band(mean))


def _band(values: Floats) -> Band:
    low, middle, high = (float(value) for value in values)
    return low, middle, high
