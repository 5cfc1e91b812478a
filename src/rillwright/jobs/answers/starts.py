"""Zone start-ups: the likeliest cause of what was read, and what to measure next."""

import math
import uuid
from collections.abc import Iterable, Iterator, Sequence
from itertools import takewhile

import numpy as np

from rillwright.errors import InputError
from rillwright.jobs.answers.answer import Answer, Book, band_words
from rillwright.jobs.zone_models import start_model, zone_of
from rillwright.model.field_log import Entry, HeadLook, HeadPressure, ValveSetting, ZoneStart, ZoneWalk
from rillwright.model.plan import Zone
from rillwright.report.workings import Given, Working
from rillwright.solvers.startup import FLOW, Ask, Diagnosis, Forecast, Gauge, Look, diagnose, forecast

__all__ = ["gauges_of", "start_answers"]

_SOURCE = "docs/theory/startup.md"
_WIDE = 1.645  # standard errors: nine in ten
_DO = {
    "as planned": "Nothing to mend.",
    "head broken or missing": "Look for a head that gushes or is gone at {where}; shut the valve before you dig it up.",
    "nozzle clogged": "Take the nozzle of {where} out, rinse it and its screen, flush the head before it goes back.",
    "wrong nozzle": "Read what is printed on the nozzle of {where} and put in the one that the plan names.",
    "valve not fully open": "Open the zone valve's flow control and every stop before it; look for grit in the valve.",
    "leak in a lateral": "Look for wet ground or a sinking trench near {where}; a cracked fitting is likeliest.",
    "supply worse than thought": "Measure the supply anew, at the hour of watering, and put it into the yard.",
    "pipes rougher or narrower": "Look for a kink, a crushed run, glue or chips in the pipes before you change heads.",
}


def start_answers(book: Book) -> Iterator[Answer]:
    """What the last start-up of each zone says, with all that was read and seen of the zone since."""
    last = {entry.what.zone: entry for entry in book.entries if isinstance(entry.what, ZoneStart)}
    for name, entry in last.items():
        assert isinstance(entry.what, ZoneStart)
        try:
            yield _answer(zone_of(book.plan, name), entry, entry.what, book)
        except InputError as error:
            yield Answer(f"start of {name}", f"Not used: {error}", entries=(entry.id,))


def _answer(zone: Zone, entry: Entry, what: ZoneStart, book: Book) -> Answer:
    model = start_model(book.plan, zone, book.catalogue)
    foretold = forecast(model, book.draws(model.zone.heads, [zone.id]), catalogue=book.catalogue)
    since = book.entries[book.entries.index(entry) :]
    gauges = gauges_of(what, zone)
    gauges += _later(_wide_open(since, zone), gauges, zone)
    looks, used = _looks(since, zone)
    found = diagnose(foretold, gauges, looks)
    cause, odds = found.odds[0]
    second, less = found.odds[1]
    where, there = next((place, share) for kind, place, share in found.places if kind == cause)
    at = f", likeliest at {where} ({book.show(there, 'share')})" if where else ""
    verdict = f"{cause[0].upper()}{cause[1:]}: {book.show(odds, 'share')} of the odds{at}."
    says = [*_against_band(foretold, gauges, book), f"Next likeliest: {second}, {book.show(less, 'share')}."]
    if found.strange:
        says.append("No single cause explains these readings: read again, and think of two faults at once.")
    do = [_DO[cause].format(where=where or zone.id)]
    if odds < 0.97 and found.asks:
        do.append(_ask_words(found.asks[0], zone))
    subject = f"start of {zone.id}"
    workings = tuple(_workings(subject, foretold, gauges, found, book))
    return Answer(subject, verdict, tuple(says), tuple(do), workings, (entry.id, *used))


def gauges_of(what: ZoneStart | ValveSetting, zone: Zone) -> list[Gauge]:
    """Readings of flow and pressures. Errors: InputError for a gauge where none can stand, or two at one place."""
    gauges = [] if what.flow is None else [Gauge(FLOW, what.flow, max(what.flow_error, 0.005) * what.flow)]
    for read in what.pressures:
        if read.at not in ("entry", "valve", *zone.heads):
            heads = ", ".join(zone.heads)
            raise InputError(f"no gauge stands at '{read.at}' in {zone.id}: write 'entry', 'valve' or one of {heads}")
        gauges.append(Gauge(read.at, read.pressure, max(read.pressure_error, 500.0)))
    if len({gauge.column for gauge in gauges}) < len(gauges):
        raise InputError(f"two readings at one place, of {zone.id}: write their mean")
    return gauges


def _wide_open(since: Iterable[Entry], zone: Zone) -> Iterable[Entry]:
    """What was written before the zone's flow control was first turned in."""

    def turned_in(entry: Entry) -> bool:
        return isinstance(entry.what, ValveSetting) and entry.what.zone == zone.id and entry.what.turns > 0

    return takewhile(lambda entry: not turned_in(entry), since)


def _later(since: Iterable[Entry], read: Sequence[Gauge], zone: Zone) -> list[Gauge]:
    """Pressures at heads of the zone that were read afterwards, the last at each."""
    taken = {gauge.column for gauge in read}
    later = {
        entry.what.head: Gauge(entry.what.head, entry.what.pressure, max(entry.what.pressure_error, 500.0))
        for entry in since
        if isinstance(entry.what, HeadPressure) and entry.what.head in zone.heads and entry.what.head not in taken
    }
    return list(later.values())


def _looks(since: Sequence[Entry], zone: Zone) -> tuple[list[Look], list[uuid.UUID]]:
    looks: list[Look] = []
    used = []
    for entry in since:
        what = entry.what
        if isinstance(what, HeadLook) and what.head in zone.heads:
            looks.append(Look("nozzle in the hand", what.seen, what.head))
        elif isinstance(what, ZoneWalk) and what.zone == zone.id and (what.head is None or what.head in zone.heads):
            looks.append(Look("walk while it runs", what.seen, what.head or ""))
        else:
            continue
        used.append(entry.id)
    return looks, used


def _dimension(column: str) -> str:
    return "flow" if column == FLOW else "pressure"


def _place(column: str) -> str:
    return {FLOW: "flow", "entry": "pressure at the entry", "valve": "pressure behind the valve"}.get(
        column, f"pressure at {column}"
    )


def _band(foretold: Forecast, gauge: Gauge) -> tuple[float, float, float]:
    """What a sound zone would show: 5 %, 50 % and 95 %, with the gauge's error."""
    k = foretold.columns.index(gauge.column)
    middle = float(foretold.mean[0, k])
    half = _WIDE * math.hypot(math.sqrt(float(foretold.covariance[0, k, k])), gauge.error)
    return middle - half, middle, middle + half


def _against_band(foretold: Forecast, gauges: Sequence[Gauge], book: Book) -> Iterator[str]:
    for gauge in gauges:
        low, _, high = _band(foretold, gauge)
        told = "as foretold" if low <= gauge.value <= high else ("too low" if gauge.value < low else "too high")
        dimension = _dimension(gauge.column)
        place, value = _place(gauge.column), book.show(gauge.value, dimension)
        yield f"{place[0].upper()}{place[1:]} {value}, foretold {band_words(book, low, high, dimension)}: {told}."


def _ask_words(ask: Ask, zone: Zone) -> str:
    told = f"It is expected to tell {ask.bits:.2f} bit of the cause and {ask.bits_of_place:.2f} of cause and place."
    if ask.what == "gauge":
        return f"Read next: {_place(ask.at)} while {zone.id} runs. {told}"
    if ask.what == "nozzle in the hand":
        return f"Look next: shut {zone.id}, take the nozzle of {ask.at} into the hand. {told}"
    return f"Look next: walk along {zone.id} while it runs, for gushing, short throws and wet ground. {told}"


def _workings(
    subject: str, foretold: Forecast, gauges: Sequence[Gauge], found: Diagnosis, book: Book
) -> Iterator[Working]:
    given = tuple(Given(_place(g.column), book.show(g.value, _dimension(g.column))) for g in gauges)
    formula = "odds before · mean over its faults of N(readings; forecast, spread + gauges' errors) · chance of looks"
    for cause, odds in found.odds:
        yield Working(f"{subject}.odds.{cause}", f"Odds: {cause}", odds, "share", formula, given, _SOURCE)
    for gauge in gauges:
        formula = "median ± 1.645 · sqrt(spread over drawn yards² + gauge's error²), zone as planned"
        spread = float(np.sqrt(foretold.covariance[0].diagonal()[foretold.columns.index(gauge.column)]))
        dimension = _dimension(gauge.column)
        inputs = (
            Given("spread", book.show(spread, dimension)),
            Given("gauge's error", book.show(gauge.error, dimension)),
        )
        for end, value in zip(("low", "median", "high"), _band(foretold, gauge), strict=True):
            key = f"{subject}.foretold.{gauge.column}-{end}"
            yield Working(key, f"Foretold {_place(gauge.column)}", value, dimension, formula, inputs, _SOURCE)
