"""Drift of a reading over the years: a robust slope with an exact band.

Statement. Readings y at times t, one for each season. The slope is the median of all slopes between two of them (Theil
1950, Sen 1968, from memory): of five seasons one may be as wrong as it likes. If nothing but chance orders the
readings about their trend, the number of pairs that rise less those that fall, Kendall's S, has a known distribution;
counting the orders of n readings by their S gives it exactly. The band is the slopes between which S would not pass
its quantile: of the N sorted slopes the (N - c + 1)/2-th from below to that from above, c the least S with
P(|S| > c) <= 0.1. With four seasons that is all of them, at 92 %; with three the band holds two times of three, with
two there is none. `held` is the chance that it truly holds. No seed. See docs/theory/record.md.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

__all__ = ["Drift", "drift_of", "kendall_counts"]

_WANTED = 0.90


@dataclass(frozen=True, slots=True)
class Drift:
    """A slope with its band, in the reading's unit for each unit of time."""

    slope: float
    low: float
    high: float
    held: float  # chance that the band holds the slope; 0 where there is none

    @property
    def sure(self) -> bool:
        """Whether the band leaves zero out, and holds as often as is wanted."""
        return self.held >= _WANTED and (self.low > 0 or self.high < 0)


def kendall_counts(number: int) -> list[int]:
    """How many orders of so many readings have each count of falling pairs, 0 to n (n - 1) / 2; their sum is n!.

    >>> kendall_counts(3)
    [1, 2, 2, 1]
    """
    counts = [1]
    for size in range(2, number + 1):
        wider = [0] * (len(counts) + size - 1)
        for falls, ways in enumerate(counts):
            for more in range(size):
                wider[falls + more] += ways
        counts = wider
    return counts


def drift_of(times: Sequence[float], values: Sequence[float]) -> Drift | None:
    """The slope of readings; None of fewer than two. Parameters: times, all different; values (n,)."""
    if len(values) < 2:
        return None
    pairs = list(combinations(range(len(values)), 2))
    slopes = sorted((values[b] - values[a]) / (times[b] - times[a]) for a, b in pairs)
    middle = float(np.median(slopes))
    counts = kendall_counts(len(values))
    total, most = sum(counts), len(pairs)
    outside, rank = 0.0, 0
    for falls in range((most + 1) // 2):
        further = outside + 2 * counts[falls] / total
        if further > 1 - _WANTED:
            break
        outside, rank = further, falls + 1
    if rank == 0:
        outside = 2 * counts[0] / total
        held = max(1 - outside, 0.0) if len(values) > 2 else 0.0
        return Drift(middle, slopes[0], slopes[-1], held)
    return Drift(middle, slopes[rank - 1], slopes[-rank], 1 - outside)
