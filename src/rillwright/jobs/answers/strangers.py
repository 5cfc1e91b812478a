"""Entries on zones and heads that the plan does not have."""

from collections.abc import Iterator

from rillwright.errors import InputError
from rillwright.jobs.answers.answer import Answer, Book
from rillwright.jobs.zone_models import zone_of
from rillwright.model.field_log import HeadLook, HeadPressure, ZoneFlow, ZoneWalk, zone_flow
from rillwright.model.plan import Plan

__all__ = ["stranger_answers"]


def stranger_answers(book: Book) -> Iterator[Answer]:
    """Why an entry that only serves other answers serves none."""
    for entry in book.entries:
        what = zone_flow(entry.what) or entry.what
        if isinstance(what, HeadLook | HeadPressure | ZoneFlow | ZoneWalk):
            try:
                _known(what, book.plan)
            except InputError as error:
                name = what.zone if isinstance(what, ZoneFlow | ZoneWalk) else what.head
                yield Answer(f"{what.kind} of {name}", f"Not used: {error}", entries=(entry.id,))


def _known(what: HeadLook | HeadPressure | ZoneFlow | ZoneWalk, plan: Plan) -> None:
    """Errors: InputError for a zone or a head that is not there."""
    if isinstance(what, ZoneFlow):
        zone_of(plan, what.zone)
    elif isinstance(what, ZoneWalk):
        heads = zone_of(plan, what.zone).heads
        if what.head is not None and what.head not in heads:
            raise InputError(f"{what.zone} has no head '{what.head}'; its heads: {', '.join(heads)}")
    elif what.head not in {head.id for head in plan.heads}:
        raise InputError(f"the plan has no head '{what.head}': look at its name on the plan")
