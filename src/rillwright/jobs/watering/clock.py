"""From the seconds of each month to whole minutes on the controller: programs, starts, cycles and rests."""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.watering.ground import WateredGround
from rillwright.model.growing import Span
from rillwright.model.site import Watering, Yard
from rillwright.model.watering import ClockSheet, ProgramSheet, StationRun, ZoneWater
from rillwright.solvers.clock import ClockLimits, ClockPlan, Station, set_clock

__all__ = [
    "clock_sheet",
    "clock_words",
    "day_starts",
    "hours_of_night",
    "night_spans",
    "night_start",
    "rounded_seconds",
    "set_months",
]

Floats = NDArray[np.float64]

DAY = 1440  # [min]
SHORTEST = 1  # [min] of a run
FIRST_RUN, LAST_RUN = 8 * 60, 17 * 60  # [min] of the day between which a new lawn's runs are spread


def _minutes(clock: str) -> int:
    return 60 * int(clock[:2]) + int(clock[3:])


def clock_words(minutes: int) -> str:
    """A time as 04:10, of minutes from any midnight."""
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def night_spans(watering: Watering) -> tuple[int, tuple[tuple[int, int], ...]]:
    """When the hours of a night open [min of the day], and the spans in them that are allowed [min from then].

    Where a rule names dates or weekdays, a night begins at midnight at the earliest: what ran before it would run on
    another date.
    """
    length = int(watering.hours // 60)
    if watering.dates != "any" or len(watering.weekdays) < 7:
        length = min(length, _minutes(watering.ends))
    opens = (_minutes(watering.ends) - length) % DAY
    cut = {0, length}
    shut = []
    for span in watering.forbidden:
        begin = (_minutes(span.begins) - opens) % DAY
        lasts = (_minutes(span.ends) - _minutes(span.begins)) % DAY or DAY
        shut += [(begin, begin + lasts), (begin - DAY, begin + lasts - DAY)]
    cut |= {min(max(edge, 0), length) for pair in shut for edge in pair}
    pieces = [(a, b) for a, b in pairwise(sorted(cut)) if not any(low <= a and b <= high for low, high in shut)]
    joined: list[tuple[int, int]] = []
    for a, b in pieces:
        if joined and joined[-1][1] == a:
            joined[-1] = (joined[-1][0], b)
        else:
            joined.append((a, b))
    return opens, tuple(joined)


def hours_of_night(watering: Watering) -> float:
    """Time [s] of a night in which water may run."""
    return 60.0 * sum(end - begin for begin, end in night_spans(watering)[1])


def day_starts(runs: int, busy: int, watering: Watering) -> tuple[str, ...]:
    """Starts of rounds of a new lawn in a day, as evenly as what is forbidden lets them; fewer where no more fit.

    Parameters: runs a day; busy [min] that a round of all zones takes; watering, of which `forbidden` counts.
    """
    shut = [_within_day(span) for span in watering.forbidden]
    free = [
        t
        for t in range(FIRST_RUN, LAST_RUN + 1)
        if not any(low < t + busy and t < high for pair in shut for low, high in pair)
    ]
    found: list[int] = []
    for n in range(runs):
        wanted = FIRST_RUN + n * (LAST_RUN - FIRST_RUN) // max(runs - 1, 1)
        left = [t for t in free if not found or t >= found[-1] + busy]
        if left:
            found.append(min(left, key=lambda t: abs(t - wanted)))
    return tuple(clock_words(t) for t in found)


def night_start(busy: int, watering: Watering) -> tuple[str, ...]:
    """The latest start whose round of `busy` [min] ends within the hours of a night; none where it does not fit."""
    opens, spans = night_spans(watering)
    fits = [end - busy for begin, end in spans if end - begin >= busy]
    return (clock_words(opens + max(fits)),) if fits else ()


def _within_day(span: Span) -> tuple[tuple[int, int], ...]:
    """What a span forbids of the day it begins on and of the day after [min]."""
    begin, end = _minutes(span.begins), _minutes(span.ends)
    return ((begin, end),) if begin < end else ((begin, DAY), (0, end))


def set_months(seconds: Floats, ground: WateredGround, yard: Yard, *, nights: int, seed: int) -> ClockPlan:
    """Set the clock for the longest run of each zone in any month; shorter months then fit it too."""
    _, spans = night_spans(yard.watering_terms)
    longest = seconds.max(axis=0, initial=0.0)
    stations = [_station(zone, float(run)) for zone, run in zip(ground.zones, longest, strict=True) if run > 1.0]
    limits = ClockLimits(
        programs=yard.controller.programs,
        starts=yard.controller.starts,
        longest_run=int(yard.controller.longest_run // 60),
        spans=spans,
    )
    return set_clock(stations, limits, nights=nights, seed=seed)


def _station(zone: ZoneWater, seconds: float) -> Station:
    minutes = math.ceil(seconds / 60 - 1e-6)
    if zone.longest_run is None:
        return Station(zone.id, minutes, minutes, 0.0)
    longest = max(int(zone.longest_run // 60), SHORTEST)
    return Station(zone.id, minutes, longest, zone.soak / zone.longest_run)


def rounded_seconds(seconds: Floats, ground: WateredGround, plan: ClockPlan) -> Floats:
    """The seconds (months, zones) that whole minutes at each start make; as they are where no clock was set."""
    starts = {zone: len(program.starts) for program in plan.programs for zone, _ in program.stations}
    each = np.array([starts.get(zone.id, 1) for zone in ground.zones])
    return np.asarray(np.ceil(seconds / 60 / each - 1e-6) * each * 60, dtype=float)


def clock_sheet(
    seconds: Floats, ground: WateredGround, plan: ClockPlan, yard: Yard, *, months: Sequence[int]
) -> ClockSheet:
    """What is typed into the controller; seconds (months, zones), whole minutes at each start."""
    watering = yard.watering_terms
    opens, _ = night_spans(watering)
    index = {zone.id: number for number, zone in enumerate(ground.zones)}
    sheets = []
    for letter, program in zip("ABCDEFGHIJKL", plan.programs, strict=False):
        runs = []
        for name, _ in program.stations:
            number = index[name]
            minutes = {m: round(seconds[i, number] / 60 / len(program.starts)) for i, m in enumerate(months)}
            runs.append(StationRun(station=ground.zones[number].station, zone=name, minutes=minutes))
        starts = tuple(clock_words(opens + start) for start in program.starts)
        sheets.append(ProgramSheet(name=letter, starts=starts, stations=tuple(runs), night=program.night))
    return ClockSheet(
        programs=tuple(sheets),
        status=plan.status,
        surplus=60.0 * plan.surplus,
        opens=clock_words(opens),
        closes=watering.ends,
        busy=float(seconds.sum(axis=1).max(initial=0.0)),
        relief=plan.relief,
    )
