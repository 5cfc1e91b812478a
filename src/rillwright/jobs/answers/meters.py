"""The water meter read twice with everything shut: what leaks on the house's side of it."""

import math
from collections.abc import Iterator

from rillwright.jobs.answers.answer import Answer, Book, band_words
from rillwright.model.field_log import Entry, MeterPair
from rillwright.model.ground_readings import NOTHING
from rillwright.report.workings import Given, Working

__all__ = ["meter_answers"]

_WIDE = 1.645  # standard errors: nine in ten
_HOUR = 3600.0


def meter_answers(book: Book) -> Iterator[Answer]:
    """One answer for each pair of readings with nothing running."""
    rests = [e for e in book.entries if isinstance(e.what, MeterPair) and e.what.running == NOTHING]
    for number, entry in enumerate(rests, start=1):
        assert isinstance(entry.what, MeterPair)
        yield _answer(f"meter at rest {number}", entry, entry.what, book)


def _answer(subject: str, entry: Entry, what: MeterPair, book: Book) -> Answer:
    flow = what.volume / what.seconds
    half = _WIDE * math.sqrt(2) * what.read_error / what.seconds
    low, high = max(flow - half, 0.0), flow + half
    band = band_words(book, low, high, "leak")
    do: tuple[str, ...] = ()
    if low > 0:
        verdict = f"Water goes: {book.show(flow, 'leak')} ({band}) with everything shut."
        do = ("Shut the sprinkler main and read again: that tells whether house or main takes it.",)
    elif what.volume == 0:
        verdict = f"The meter stood still: less than {book.show(high, 'leak')} goes."
    else:
        verdict = f"Not to be told from none: {book.show(flow, 'leak')} ({band})."
        do = (f"Wait {book.show(_long_enough(what, flow), 'hours')} between the two looks.",)
    given = (
        Given("volume between the looks", book.show(what.volume, "volume")),
        Given("time between them", book.show(what.seconds, "minutes")),
        Given("error of one look", book.show(what.read_error, "volume")),
    )
    formula = "(after - before) / time; ± 1.645 · sqrt(2) · error of a look / time"
    workings = tuple(
        Working(f"{subject}.flow-{end}", "Flow with everything shut", value, "leak", formula, given, "JCGM 100:2008, 5")
        for end, value in (("low", low), ("median", flow), ("high", high))
    )
    return Answer(subject, verdict, (), do, workings, (entry.id,))


def _long_enough(what: MeterPair, flow: float) -> float:
    """Time [s] after which this flow would stand out of the meter's error."""
    return max(1.1 * _WIDE * math.sqrt(2) * what.read_error / flow, _HOUR)
