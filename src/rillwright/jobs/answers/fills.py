"""Bucket tests of the supply."""

from collections.abc import Iterator

from rillwright.jobs.answers.answer import Answer, Book, band_words
from rillwright.jobs.refit import same_measurement
from rillwright.model.field_log import Entry, SupplyTest
from rillwright.model.site import BucketFill
from rillwright.physics.supply import bucket_flow
from rillwright.report.workings import Given, Working
from rillwright.solvers.supply import FillsFound, SupplyFit, read_fills
from rillwright.solvers.supply.fills import THROTTLES
from rillwright.solvers.supply.outlook import band
from rillwright.solvers.supply.readings import VolumeReading

__all__ = ["fill_answers"]

_SOURCE = "docs/theory/supply.md"
_SURE = 0.8  # chance from which the outlet is said to throttle, or not to


def fill_answers(book: Book) -> Iterator[Answer]:
    """What each bucket test of the log says."""
    fit = book.service
    readings = {r.label: r for r in fit.readings if isinstance(r, VolumeReading)}
    fills = [item for item in book.yard.supply if isinstance(item, BucketFill)]
    number = 0
    for entry in book.entries:
        if isinstance(entry.what, SupplyTest) and isinstance(entry.what.measurement, BucketFill):
            number += 1
            item = entry.what.measurement
            if entry.what.throttled:
                yield _throttled(f"bucket test {number}", entry, item, entry.what.valve_open, book)
                continue
            row = next(row for row, fill in enumerate(fills, start=1) if same_measurement(fill, item))
            reading = readings[f"bucket fill {row}"]
            answer = _answer(f"bucket test {number}", item, read_fills(item, reading, fit), fit, book)
            yield Answer(answer.subject, answer.verdict, answer.says, answer.do, answer.workings, (entry.id,))


def _answer(subject: str, item: BucketFill, found: FillsFound, fit: SupplyFit, book: Book) -> Answer:
    low, flow, high = found.flow
    pressure = book.plan.supply.reference_pressure
    at_work = band(fit.flows(pressure))
    kept, needed = book.show(at_work[1], "flow"), book.show(pressure, "pressure")
    says = [
        _outlet(found, book),
        f"An open outlet gives its flow at no pressure. At the {needed} that the plan needs at the water entry "
        f"{kept} are left ({band_words(book, at_work[0], at_work[2], 'flow')}), by all readings together.",
    ]
    if found.scatter > 2 * found.expected_scatter:
        scatter = book.show(found.scatter, "time")
        says.append(
            f"The fills differ by {scatter} from one to the next, more than a stopwatch explains: look for "
            "water drawn elsewhere meanwhile, or a mark read at a tilt."
        )
    do = []
    if 1 - _SURE < found.throttled < _SURE:
        do.append("Read a gauge before the outlet while it runs open, or fill through a wider one: that tells.")
    if item.start_delay > 0 and item.start_delay_error > 0.05 * (found.seconds - item.start_delay):
        do.append("Swing the bucket under the running stream instead: then no start has to be guessed.")
    return Answer(
        subject,
        f"{book.show(flow, 'flow')} ran ({band_words(book, low, high, 'flow')} in nine of ten).",
        tuple(says),
        tuple(do),
        tuple(_workings(subject, item, found, at_work, pressure, book)),
    )


def _throttled(subject: str, entry: Entry, item: BucketFill, share: float, book: Book) -> Answer:
    """Of a fill through a valve partly open only the least is known."""
    seconds = sum(item.seconds) / len(item.seconds)
    flow = bucket_flow(item.volume, seconds=seconds, start_delay=item.start_delay)
    given = (
        Given("volume to the mark", book.show(item.volume, "volume")),
        Given("mean time on the clock", book.show(seconds, "time")),
        Given("of it before water came", book.show(item.start_delay, "time")),
    )
    title, formula = "Flow into the bucket", "volume / (time - start)"
    return Answer(
        subject,
        f"{book.show(flow, 'flow')} ran, its valve {book.show(share, 'share')} open: the supply gives at least that.",
        ("What a valve partly open holds back nobody knows: the test is not used in the supply.",),
        ("Open the valve wholly and fill again.",),
        (Working(f"{subject}.flow", title, flow, "flow", formula, given, _SOURCE, flow),),
        (entry.id,),
    )


def _outlet(found: FillsFound, book: Book) -> str:
    low, held, high = found.held_back
    share = f"{book.show(held, 'share')} of the flow ({band_words(book, low, high, 'share')})"
    bare = f"the bare pipe would give {band_words(book, found.bare[0], found.bare[2], 'flow')}"
    if found.throttled >= _SURE:
        return f"The outlet throttled it: it held back {share}; {bare}."
    if found.throttled <= 1 - _SURE:
        return f"The outlet hardly throttled it: it held back {share}."
    return f"Whether the outlet throttled it is not certain: it held back {share}; {bare}."


def _workings(
    subject: str, item: BucketFill, found: FillsFound, at_work: tuple[float, float, float], pressure: float, book: Book
) -> Iterator[Working]:
    given = (
        Given("volume to the mark", book.show(item.volume, "volume")),
        Given("fills", str(len(item.seconds))),
        Given("mean time on the clock", book.show(found.seconds, "time")),
        Given("of it before water came", book.show(item.start_delay, "time")),
    )
    again = item.volume / (found.seconds - item.start_delay)
    yield Working(
        f"{subject}.flow", "Flow into the bucket", found.flow[1], "flow", "volume / (time - start)", given, "", again
    )
    formula = "flow ± 1.645 · flow · sqrt(volume_error² + (time_error²/fills + start_error²)/(time - start)²)"
    errors = (
        *given,
        Given("error of the mark", book.show(item.volume_error, "share")),
        Given("error of a stopwatch reading", book.show(max(item.time_error, found.scatter), "time")),
        Given("error of the start", book.show(item.start_delay_error if item.start_delay > 0 else 0.0, "time")),
    )
    for end, value in (("low", found.flow[0]), ("high", found.flow[2])):
        yield Working(f"{subject}.flow-{end}", "Its band", value, "flow", formula, errors, "JCGM 100:2008, 5")
    formula = "1 - flow through the outlet / flow of the bare pipe, median over the fit's draws"
    limit = (Given("called throttling from", book.show(THROTTLES, "share")),)
    yield Working(
        f"{subject}.held-back", "Held back by the outlet", found.held_back[1], "share", formula, limit, _SOURCE
    )
    formula = "((static - pressure) / factor)^(1/exponent), median over the fit's draws"
    needed = (Given("pressure at the entry", book.show(pressure, "pressure"), "supply.reference-pressure"),)
    yield Working(f"{subject}.at-work", "Flow left at work", at_work[1], "flow", formula, needed, _SOURCE)
