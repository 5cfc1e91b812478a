"""Building a stored plan: what is written down, steps, the guide with what is done by now, the as-built record."""

import uuid
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from functools import lru_cache

from rillwright.errors import YardError
from rillwright.exchange.yard_file import validated
from rillwright.jobs.as_built import make_as_built
from rillwright.jobs.asked import Known, Question, questions_on
from rillwright.jobs.desk import Desk
from rillwright.jobs.done import done_items
from rillwright.jobs.guide import make_guide, plan_steps
from rillwright.jobs.winter import Courses, WinterTerms, make_winter
from rillwright.jobs.yearly import make_record
from rillwright.model.as_built import AsBuilt
from rillwright.model.field_log import Entry, standing
from rillwright.model.guide import BuildTerms, Guide, Step
from rillwright.model.winter import Winter
from rillwright.model.yearly import YearlyRecord
from rillwright.store import Store
from rillwright.store.field_log import Receipt

__all__ = ["SiteDesk"]

_ANY_DAY = BuildTerms(start=date(2000, 1, 1))  # steps alone have no dates


class SiteDesk:
    """What is asked of plans while they are built."""

    def __init__(self, store: Store, desk: Desk) -> None:
        self._store = store
        self._desk = desk
        self._guide = lru_cache(maxsize=8)(self._made)

    def keep(self, yard: uuid.UUID, entries: Sequence[Entry]) -> list[Receipt]:
        """Keep entries in their order, less those that can hardly be and that nobody has confirmed.

        Errors: NotFoundError.
        """
        here, known = self._store.log.here(entries), self.known(yard)
        asked = {e.id: found for e in entries if e.id not in here and (found := questions_on(e, known))}
        kept = iter(self._store.log.append(yard, [entry for entry in entries if entry.id not in asked]))
        return [_asked(entry, asked[entry.id]) if entry.id in asked else next(kept) for entry in entries]

    def known(self, yard: uuid.UUID) -> Known:
        """What a yard's entries are held against: its current plan, else its document as far as it can be read.

        Errors: NotFoundError.
        """
        current = next((note for note in self._store.plans.of_yard(yard) if note.current), None)
        plan = None if current is None else self._desk.plan(current.id)
        built = None if plan is None else plan.yard
        if built is None:
            try:
                built = validated(self._store.yards.revision(yard, None).document, source="the yard")
            except YardError:
                built = None  # a draft: nothing is asked that rests on its facts
        log = standing(self._store.log.whole(yard))
        return Known(self._desk.catalogue, built, plan, datetime.now(UTC), typed=False, log=log)

    def steps(self, plan: uuid.UUID, terms: BuildTerms) -> tuple[Step, ...]:
        """Steps in the order of a usual build. Errors: NotFoundError."""
        return plan_steps(self._desk.plan(plan), self._desk.catalogue, terms)

    def done(self, plan: uuid.UUID) -> Mapping[str, date]:
        """Day on which each item of the build was done, by ticks and log. Errors: NotFoundError."""
        return self._done(plan, _ANY_DAY)

    def guide(self, plan: uuid.UUID, terms: BuildTerms) -> Guide:
        """The guide, less what is ticked off or in the log. Errors: NotFoundError; InputError as `make_guide`."""
        return self._guide(plan, terms, tuple(sorted(self._done(plan, terms).items())))

    def as_built(self, plan: uuid.UUID) -> AsBuilt:
        """The as-built record. Errors: NotFoundError."""
        return make_as_built(self._desk.plan(plan), self.counting(plan))

    def counting(self, plan: uuid.UUID) -> list[Entry]:
        """What counts of the log of a plan's yard. Errors: NotFoundError."""
        return standing(self._store.log.whole(self._store.plans.get(plan).yard))

    def winter(self, plan: uuid.UUID, terms: WinterTerms) -> tuple[Winter, Courses]:
        """Winter, with pipes as the log says they lie. Errors: NotFoundError; InputError as `make_winter`."""
        return make_winter(self._desk.plan(plan), self._desk.catalogue, terms, self.counting(plan))

    def record(self, plan: uuid.UUID) -> YearlyRecord:
        """The yearly record. Errors: NotFoundError."""
        document = self._desk.plan(plan)
        origin = document.yard.origin
        return make_record(document, self.counting(plan), southern=origin is not None and origin.lat < 0)

    def _done(self, plan: uuid.UUID, terms: BuildTerms) -> Mapping[str, date]:
        return done_items(self._desk.plan(plan), self.steps(plan, terms), entries=self.counting(plan))

    def _made(self, plan: uuid.UUID, terms: BuildTerms, done: tuple[tuple[str, date], ...]) -> Guide:
        return make_guide(self._desk.plan(plan), self._desk.catalogue, terms, done=dict(done))


def _asked(entry: Entry, questions: Sequence[Question]) -> Receipt:
    why = "; ".join(f"{question.figure}: {question.why}. {question.do}" for question in questions)
    return Receipt(entry.id, "asked", None, why, tuple(question.rule for question in questions))
