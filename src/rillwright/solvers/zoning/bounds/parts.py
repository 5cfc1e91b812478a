"""Loads as whole numbers, so chosen that what fits by them hardly ever overfills a true zone.

The most that a true zone adds up to by rounded loads is found exactly: the largest sum of them whose true loads still
fit, a knapsack. So rounding up serves as well as down, and of many roundings the one is taken by which the zones of a
group have least room left beside its heads.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["whole_loads"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

_PARTS = range(900, 1001, 10)  # of a zone's capacity
_OFFSETS = (0.0, 0.25, 0.5)  # added before rounding down
_ROUNDING = 1e-9  # of sums of shares


def whole_loads(share: Floats, groups: Sequence[Sequence[int]], counts: Sequence[int]) -> tuple[Whole, Whole]:
    """Load of each head, one or more, and the most that a zone with the head adds up to.

    Parameters: share [0..1] of its capacity that each head needs, (heads,); counts of the zones of each group.
    """
    load, most = np.zeros((2, len(share)), dtype=np.int64)
    for members, count in zip(groups, counts, strict=True):
        own = list(members)
        load[own], most[own] = _rounded(share[own], count)
    return load, most


def _rounded(share: Floats, count: int) -> tuple[Whole, int]:
    """Loads, and the most of a zone, by which so many zones are fullest."""
    loads = [
        np.maximum(1, np.floor(share * parts + offset + _ROUNDING).astype(np.int64))
        for parts in _PARTS
        for offset in _OFFSETS
    ]
    mosts = [_most(share, load) for load in loads]
    best = max(range(len(loads)), key=lambda k: float(loads[k].sum()) / (count * mosts[k]))
    return loads[best], mosts[best]


def _most(share: Floats, load: Whole) -> int:
    """The largest sum of loads of heads whose shares fit a zone."""
    least = np.full(_PARTS[-1] + len(load) + 1, np.inf)  # sum of shares at each sum of loads
    least[0] = 0.0
    for own, parts in zip(share, load, strict=True):
        least[parts:] = np.minimum(least[parts:], least[:-parts] + own)
    return int(np.flatnonzero(least <= 1 + _ROUNDING)[-1])
