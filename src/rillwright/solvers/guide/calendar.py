"""Work days, and how much work each has room for."""

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from rillwright.model.guide import WEEKDAYS, BuildTerms
from rillwright.physics.daylight import daylight

__all__ = ["HOUR", "Calendar"]

HOUR = 3600.0  # [s]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Calendar:
    """Every day from the start on: 0 is the first."""

    start: date
    room: Floats  # [s] of work on each day; 0 on days off
    light: Floats  # [s] from sunrise to sunset
    lost: Floats  # [0..1] chance that weather takes the day

    @classmethod
    def of(cls, terms: BuildTerms, *, latitude: float, lost_days: tuple[float, ...], days: int) -> "Calendar":
        """The calendar of so many days.

        A work day has room for the hours of the terms, or for those of daylight where they are fewer. The chances by
        month are of the north; in the south they are taken six months on.
        """
        dates = [terms.start + timedelta(days=n) for n in range(days)]
        light = np.array([daylight(math.radians(latitude), day_of_year=d.timetuple().tm_yday) for d in dates])
        works = np.array([WEEKDAYS[d.weekday()] in terms.days for d in dates])
        room = np.where(works, np.minimum(terms.hours * HOUR, light), 0.0)
        shift = 0 if latitude >= 0 else 6
        months = [lost_days[(d.month - 1 + shift) % 12] for d in dates]
        chance = [terms.lost_days if terms.lost_days is not None else month for month in months]
        return cls(terms.start, room, light, np.array(chance))

    @property
    def before(self) -> Floats:
        """Work [s] that all days before each one have room for; one longer than the days."""
        return np.concatenate(([0.0], np.cumsum(self.room)))

    def day(self, number: int) -> date:
        """The date of a day."""
        return self.start + timedelta(days=number)

    def day_of_end(self, at: float) -> int:
        """Day on which work ends that reaches a point on the clock of work [s]."""
        return max(int(np.searchsorted(self.before, at - 1e-6, side="left")) - 1, 0)

    def day_of_begin(self, at: float) -> int:
        """Day on which work begins that starts at a point on the clock of work [s]."""
        return int(np.searchsorted(self.before, at + 1e-6, side="right")) - 1
