"""The programme as an RFC 5545 calendar: when to set the controller and its clock anew, and every night that waters.

An event's UID says what it is (yard, year, month, program), so a calendar that reads the file again moves its events in
place of adding others; SEQUENCE is the number of the day on which the file was made. Events of the calendar given out
before that are no more, such as the nights of a month that needs none now, are told as CANCELLED, so that they go.
Times float: they are those of the controller's clock.
"""

import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from icalendar import Calendar, Event

from rillwright.errors import InputError
from rillwright.model.watering import ClockChange, MonthWater, ProgramSheet, WaterPlan
from rillwright.report.water.words import month_name

__all__ = ["new_calendar", "stable_event", "water_calendar"]

EPOCH = date(2020, 1, 1)  # from which revisions are counted
PRODID = "-//Rillwright//watering programme//EN"


def water_calendar(made: WaterPlan, *, today: date, earlier: bytes | None = None) -> bytes:
    """Write the calendar; today, the day on which it is made; earlier, the one given out before, if any."""
    cal = new_calendar(f"Watering: {made.yard}")
    for month in made.months:
        cal.add_component(_set_anew(month, made, today))
        for program in made.clock.programs:
            event = _nights(month, program, made, today)
            if event is not None:
                cal.add_component(event)
    for change in made.clock_changes:
        cal.add_component(_clock_set(change, made, today))
    if earlier is not None:
        known = {str(event["uid"]) for event in cal.walk("VEVENT")}
        for event in _gone(earlier, known, since=_first(made.months[0], made), today=today):
            cal.add_component(event)
    return bytes(cal.to_ical())


def _gone(earlier: bytes, known: set[str], *, since: date, today: date) -> Iterator[Event]:
    """Events of an earlier calendar of this season that the new one has no more, cancelled."""
    try:
        held: list[Any] = Calendar.from_ical(earlier).walk("VEVENT")
    except ValueError as error:
        raise InputError(f"water.ics, from before, is no calendar any more ({error}): move it away") from None
    for old in held:
        begins = old["dtstart"].dt
        day = begins.date() if isinstance(begins, datetime) else begins
        if str(old["uid"]) in known or day < since - timedelta(days=1):
            continue
        event = Event()
        event.add("uid", str(old["uid"]))
        event.add("dtstamp", datetime.combine(today, time(), tzinfo=UTC))
        event.add("sequence", max((today - EPOCH).days, int(old.get("sequence", 0))))
        event.add("dtstart", begins)
        event.add("status", "CANCELLED")
        event.add("summary", str(old.get("summary", "")))
        event.add("transp", "TRANSPARENT")
        yield event


def new_calendar(name: str) -> Calendar:
    """An empty calendar of ours."""
    cal = Calendar()
    cal.add("prodid", PRODID)
    cal.add("version", "2.0")
    cal.add("name", name)
    return cal


def stable_event(what: str, today: date) -> Event:
    """An event that is known by what it is: read again, it moves in place of being added."""
    event = Event()
    event.add("uid", f"{uuid.uuid5(uuid.NAMESPACE_OID, f'rillwright {what}')}")
    event.add("dtstamp", datetime.combine(today, time(), tzinfo=UTC))
    event.add("sequence", max((today - EPOCH).days, 0))
    return event


def _event(what: str, made: WaterPlan, today: date) -> Event:
    return stable_event(f"water {made.yard} {made.year} {what}", today)


def _first(month: MonthWater, made: WaterPlan) -> date:
    year = made.year + (month.month < made.months[0].month)
    return date(year, month.month, 1)


def _set_anew(month: MonthWater, made: WaterPlan, today: date) -> Event:
    event = _event(f"set {month.month}", made, today)
    first = _first(month, made)
    event.add("dtstart", first)
    event.add("dtend", first + timedelta(days=1))
    what = f"{month.percent:.0f} %, {month.nights}" if month.dates else "off, no night needs water"
    event.add("summary", f"Set the controller for {month_name(month.month)}: {what}")
    lines = [
        f"Program {program.name} at {', '.join(program.starts)}: "
        + ", ".join(f"station {run.station} {run.minutes[month.month]} min" for run in program.stations)
        for program in made.clock.programs
    ]
    event.add("description", "\n".join(lines) or "No programs fit the controller.")
    event.add("transp", "TRANSPARENT")
    return event


def _clock_set(change: ClockChange, made: WaterPlan, today: date) -> Event:
    way = "forward" if change.minutes > 0 else "back"
    event = _event(f"clock {change.day}", made, today)
    event.add("dtstart", change.day)
    event.add("dtend", change.day + timedelta(days=1))
    event.add("summary", f"Clocks go {way} by {abs(change.minutes)} min: set the controller's too")
    event.add("description", "Unless it does so by itself. Start times stay as they are on its clock.")
    event.add("transp", "TRANSPARENT")
    return event


def _nights(month: MonthWater, program: ProgramSheet, made: WaterPlan, today: date) -> Event | None:
    """The nights of a program in a month, as one event with the dates of the others."""
    minutes = sum(run.minutes[month.month] for run in program.stations)
    if minutes == 0 or not month.dates:
        return None
    starts = [_began(date.fromisoformat(text), program, program.starts[0], made) for text in month.dates]
    last = _began(date.fromisoformat(month.dates[0]), program, program.starts[-1], made)
    event = _event(f"nights {month.month} {program.name}", made, today)
    event.add("dtstart", starts[0])
    event.add("dtend", last + timedelta(minutes=minutes))
    if len(starts) > 1:
        event.add("rdate", starts[1:])
    event.add("summary", f"Watering, program {program.name}")
    runs = ", ".join(f"{run.zone} {run.minutes[month.month]} min" for run in program.stations)
    event.add("description", f"At {', '.join(program.starts)}: {runs}.")
    event.add("transp", "TRANSPARENT")
    return event


def _began(ends: date, program: ProgramSheet, clock: str, made: WaterPlan) -> datetime:
    """When a start falls, of a night known by the date on which it ends."""
    at = time.fromisoformat(clock)
    day = ends + timedelta(days=program.night)
    if at > time.fromisoformat(made.clock.closes):
        day -= timedelta(days=1)
    return datetime.combine(day, at)
