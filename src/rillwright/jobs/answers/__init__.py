"""What the field log says about a plan: each test's conclusion in plain words, with its numbers and their working."""

from collections.abc import Iterator, Sequence

from rillwright.errors import InputError
from rillwright.jobs.answers.answer import Answer, Book, Put, put_into
from rillwright.jobs.answers.cups import cup_answers
from rillwright.jobs.answers.fills import fill_answers
from rillwright.jobs.answers.ground import ground_answers
from rillwright.jobs.answers.leaks import leak_answers
from rillwright.jobs.answers.meters import meter_answers
from rillwright.jobs.answers.recalibrated import recalibrated_answer
from rillwright.jobs.answers.settings import setting_answers
from rillwright.jobs.answers.starts import start_answers
from rillwright.jobs.answers.strangers import stranger_answers
from rillwright.model.field_log import Entry
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan

__all__ = ["Answer", "Book", "Put", "answer_log", "put_into"]

_TESTS = (
    fill_answers,
    meter_answers,
    leak_answers,
    start_answers,
    setting_answers,
    cup_answers,
    ground_answers,
    stranger_answers,
    recalibrated_answer,
)


def answer_log(plan: Plan, entries: Sequence[Entry], catalogue: Catalogue, *, seed: int = 0) -> tuple[Answer, ...]:
    """Every conclusion that a log allows, test by test.

    Parameters: entries, what counts of the log (model.field_log.standing); catalogue, that the plan was made with.
    Errors: InputError for nozzles that the catalogue lacks. An entry that cannot be used has an answer that says so.
    """
    unknown = sorted({head.nozzle for head in plan.heads} - set(catalogue.nozzles))
    if unknown:
        raise InputError(f"no chart here holds {', '.join(unknown)}: give the --charts that the plan was made with")
    return tuple(_all(Book(plan, catalogue, tuple(entries), seed)))


def _all(book: Book) -> Iterator[Answer]:
    for test in _TESTS:
        yield from test(book)
