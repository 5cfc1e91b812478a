"""Which nights are watered: patterns that a plain controller can hold and the local rule allows."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from rillwright.model.growing import WEEKDAYS
from rillwright.model.site import Watering
from rillwright.solvers.season.trial import NO_NIGHT

__all__ = ["Pattern", "patterns", "slots_of"]

LONGEST_INTERVAL = 7  # [days] between two waterings


@dataclass(frozen=True, slots=True)
class Pattern:
    """A pattern of nights; each is known by the date on which it ends."""

    words: str
    every: int = 1  # days from one to the next
    weekdays: tuple[str, ...] = WEEKDAYS
    dates: str = "any"

    @property
    def a_week(self) -> float:
        """Nights a week, about."""
        return len(self.weekdays) / self.every * (0.5 if self.dates != "any" else 1.0)

    def on(self, days: NDArray[np.datetime64]) -> NDArray[np.bool_]:
        """Whether the night before each day is watered; days of one season in order."""
        weekday = (days.astype(int) + 3) % 7  # 1970-01-01 was a Thursday
        date = (days - days.astype("datetime64[M]").astype("datetime64[D]")).astype(int) + 1
        allowed = np.isin(weekday, [WEEKDAYS.index(name) for name in self.weekdays])
        if self.dates != "any":
            allowed &= date % 2 == (1 if self.dates == "odd" else 0)
        return np.asarray(allowed & ((days - days[0]).astype(int) % self.every == 0))


def patterns(watering: Watering) -> tuple[Pattern, ...]:
    """Patterns that the rule allows, most nights first."""
    allowed = watering.wet_days
    if watering.dates != "any":
        told = f"{watering.dates} dates" + ("" if len(allowed) == 7 else f" on {', '.join(allowed)}")
        return (Pattern(told, weekdays=allowed, dates=watering.dates),)
    if len(allowed) == 7 and watering.nights == 7:
        words = ["every night", *(f"every {k} days" for k in range(2, LONGEST_INTERVAL + 1))]
        return tuple(Pattern(word, every=k) for k, word in enumerate(words, start=1))
    found = []
    for count in range(min(watering.nights, len(allowed)), 0, -1):
        chosen = max(combinations(allowed, count), key=_spread)
        found.append(Pattern(", ".join(chosen), weekdays=chosen))
    return tuple(found)


def _spread(names: tuple[str, ...]) -> tuple[int, int]:
    """How evenly weekdays lie in the week: the least gap, then less the greatest."""
    numbers = [WEEKDAYS.index(name) for name in names]
    gaps = [(b - a) % 7 or 7 for a, b in zip(numbers, [*numbers[1:], numbers[0]], strict=True)]
    return min(gaps), -max(gaps)


def slots_of(
    chosen: tuple[Pattern, ...],
    *,
    days: NDArray[np.datetime64],
    month: NDArray[np.int64],
    rain: NDArray[np.float64],
    skip: float,
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Programme row of each night, by month, and which nights are planned before rain skips any.

    Parameters: chosen pattern of each month of the season; days (years, days); month (days,); rain (years, days) [m];
    skip [m] of rain on the day before that skips a night, 0 for no switch.
    """
    planned = np.zeros(days.shape, dtype=bool)
    for year in range(len(days)):
        for number, pattern in enumerate(chosen):
            own = month == number
            planned[year, own] = pattern.on(days[year])[own]
    before = np.concatenate((np.zeros((len(rain), 1)), rain[:, :-1]), axis=1)
    wet = (before >= skip) if skip > 0 else np.zeros_like(planned)
    return np.where(planned & ~wet, month[None, :], NO_NIGHT), planned
