"""Building a stored plan: its steps, its guide with what is done by now, and its as-built record."""

import uuid
from datetime import date
from functools import lru_cache

from rillwright.jobs.as_built import make_as_built
from rillwright.jobs.desk import Desk
from rillwright.jobs.done import done_items
from rillwright.jobs.guide import make_guide, plan_steps
from rillwright.model.as_built import AsBuilt
from rillwright.model.field_log import Entry, standing
from rillwright.model.guide import BuildTerms, Guide, Step
from rillwright.store import Store

__all__ = ["SiteDesk"]

MOST_ENTRIES = 2**31 - 1


class SiteDesk:
    """What is asked of plans while they are built."""

    def __init__(self, store: Store, desk: Desk) -> None:
        self._store = store
        self._desk = desk
        self._guide = lru_cache(maxsize=8)(self._made)

    def steps(self, plan: uuid.UUID, terms: BuildTerms) -> tuple[Step, ...]:
        """Steps in the order of a usual build. Errors: NotFoundError."""
        return plan_steps(self._desk.plan(plan), self._desk.catalogue, terms)

    def guide(self, plan: uuid.UUID, terms: BuildTerms) -> Guide:
        """The guide, less what is ticked off or in the log. Errors: NotFoundError; InputError as `make_guide`."""
        yard = self._store.plans.get(plan).yard
        words = self._store.log.ticks(yard)
        done = done_items(self._desk.plan(plan), self.steps(plan, terms), words=words, entries=self._entries(plan))
        return self._guide(plan, terms, tuple(sorted(done.items())))

    def as_built(self, plan: uuid.UUID) -> AsBuilt:
        """The as-built record. Errors: NotFoundError."""
        return make_as_built(self._desk.plan(plan), self._entries(plan))

    def _entries(self, plan: uuid.UUID) -> list[Entry]:
        yard = self._store.plans.get(plan).yard
        return standing(stored.entry for stored in self._store.log.entries(yard, most=MOST_ENTRIES))

    def _made(self, plan: uuid.UUID, terms: BuildTerms, done: tuple[tuple[str, date], ...]) -> Guide:
        return make_guide(self._desk.plan(plan), self._desk.catalogue, terms, done=dict(done))
