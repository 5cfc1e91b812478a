"""The controller's clock by the law of the yard's time zone: how far ahead it is, and when it changes."""

from collections import Counter
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from rillwright.model.watering import ClockChange
from rillwright.model.weather import Place

__all__ = ["by_the_clock", "clock_changes"]

MINUTE, DAY = timedelta(minutes=1), timedelta(days=1)


def clock_changes(zone: str | None, first: date, last: date) -> tuple[ClockChange, ...]:
    """Days from first to last on which clocks go forward or back; none where nobody has said the zone."""
    if zone is None:
        return ()
    days = [first + n * DAY for n in range((last - first).days + 1)]
    turns = [(day, (_ahead(zone, day) - _ahead(zone, day - DAY)) // MINUTE) for day in days]
    return tuple(ClockChange(day=day, minutes=minutes) for day, minutes in turns if minutes)


def by_the_clock(
    hours: NDArray[np.float64], *, zone: str | None, place: Place, months: tuple[int, ...], year: int
) -> NDArray[np.float64]:
    """Mean of some months by the minute of the controller's clock, (1440,).

    Parameters: hours (12, 24), means of each month by the hour of the weather file's clock, which keeps standard time;
    zone of the controller, None to take its clock as the file's; place of the weather; months; year.
    """
    total = np.zeros(1440)
    for month in months:
        fine = np.repeat(hours[month - 1], 60)
        days = [date(year, month, 1) + n * DAY for n in range(28)]
        days += [days[-1] + n * DAY for n in range(1, 4) if (days[-1] + n * DAY).month == month]
        shifts = Counter(0 if zone is None else _shift(zone, day, place) for day in days)
        total += sum(count * np.roll(fine, shift) for shift, count in shifts.items()) / len(days)
    return total / len(months)


def _shift(zone: str, day: date, place: Place) -> int:
    """Minutes that the controller's clock is ahead of the weather file's."""
    if place.utc_offset is None:
        standard = ZoneInfo(zone).dst(datetime.combine(day, time(12)))
        return 0 if standard is None else standard // MINUTE
    return (_ahead(zone, day) - timedelta(hours=place.utc_offset)) // MINUTE


def _ahead(zone: str, day: date) -> timedelta:
    """How far a zone's clock is ahead of universal time at noon of a day."""
    ahead = ZoneInfo(zone).utcoffset(datetime.combine(day, time(12)))
    assert ahead is not None
    return ahead
