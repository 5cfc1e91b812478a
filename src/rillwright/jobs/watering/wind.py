"""Wind in the hours of a night, where the weather tells hours, and which hours are the calmest."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.watering.clock import DAY, clock_words, night_spans
from rillwright.jobs.watering.zone_clock import by_the_clock
from rillwright.model.site import Watering
from rillwright.model.watering import CalmHours
from rillwright.model.weather import DailyWeather

__all__ = ["calm_hours"]

EVENING, MORNING = 20 * 60, 10 * 60  # [min] of the day between which a night's hours may lie: less sun; judgement
STEP = 30  # [min] of the ends that are looked at


def calm_hours(weather: DailyWeather, months: Sequence[int], watering: Watering, *, year: int) -> CalmHours | None:
    """Mean wind in the yard's hours, and in the calmest as many of a night; None where only days are known.

    Parameters: weather; months of the season; watering, whose time zone's law counts; year of the calendar.
    """
    if weather.wind_by_hour is None:
        return None
    zone = watering.time_zone
    wind = by_the_clock(weather.wind_by_hour, zone=zone, place=weather.place, months=tuple(months), year=year)
    opens, spans = night_spans(watering)
    if not spans:
        return None
    length = spans[-1][1] - spans[0][0]
    own = np.concatenate([np.arange(opens + begin, opens + end) for begin, end in spans])
    one_date = watering.dates != "any" or len(watering.weekdays) < 7
    first = DAY if one_date else EVENING
    ends = range(first + length, DAY + MORNING + 1, STEP)
    winds = {end: _mean(wind, np.arange(end - length, end)) for end in ends}
    mean = _mean(wind, own)
    calmest = min(winds, key=lambda end: (winds[end], abs(end - DAY - 6 * 60)), default=None)
    return CalmHours(
        time_zone=zone,
        by_hour=tuple(wind.reshape(24, 60).mean(axis=1).tolist()),
        mean=mean,
        calmest_opens=None if calmest is None else clock_words(calmest - length),
        calmest_ends=None if calmest is None else clock_words(calmest),
        calmest=mean if calmest is None else winds[calmest],
    )


def _mean(wind: NDArray[np.float64], minutes: NDArray[np.int64]) -> float:
    return float(wind[minutes % DAY].mean())
