"""What a stored log concludes and what may be changed now: long work, done in the desk's worker processes.

Results stay in memory, by the plan and the entries that count: a log that grew is concluded from anew.
"""

import threading
import uuid
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from typing import Literal

from rillwright.errors import NotFoundError, StateError
from rillwright.jobs.answers import Answer
from rillwright.jobs.answers.effect import Effect, effect_of
from rillwright.jobs.background import Job
from rillwright.jobs.desk import Desk
from rillwright.jobs.errands import AnswerErrand, Errand, ReplanErrand
from rillwright.jobs.replan import Outcome
from rillwright.jobs.site_desk import SiteDesk
from rillwright.jobs.write import plan_files
from rillwright.model.field_log import Entry
from rillwright.store import Store

__all__ = ["FieldDesk", "WorkState"]

_KEPT = 12  # results

Key = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class WorkState:
    """How far a piece of work is."""

    status: Literal["not begun", "waiting", "running", "done", "stopped early", "cancelled", "failed"]
    stage: str = ""  # what is being done, in words
    share: float = 0.0  # of that stage, 0 to 1
    keeps: bool = False  # whether a stop now would give something
    message: str = ""  # why it failed
    stale: bool = False  # whether the log has grown since


class FieldDesk:
    """Conclusions and changes of the plans of one store."""

    def __init__(self, store: Store, desk: Desk, site: SiteDesk) -> None:
        self._store, self._desk, self._site = store, desk, site
        self._jobs: OrderedDict[Key, Job] = OrderedDict()
        self._digests: dict[Key, str] = {}
        self._lock = threading.Lock()
        self._effect = lru_cache(maxsize=200)(self._effected)
        self._files = lru_cache(maxsize=4)(self._drawn)

    def ask_answers(self, plan: uuid.UUID) -> WorkState:
        """Conclude from the log as it is now; what was concluded already serves again. Errors: NotFoundError."""
        entries = self._site.counting(plan)
        return self._begin(("answers", plan), AnswerErrand(self._desk.plan(plan), entries, 0), entries)

    def answers(self, plan: uuid.UUID) -> tuple[WorkState, tuple[Answer, ...]]:
        """How far that is, and the conclusions. Errors: NotFoundError."""
        job, state = self._state(("answers", plan), plan)
        return state, job.result if job is not None and job.result is not None else ()

    def ask_changes(self, plan: uuid.UUID, *, hour: float, second_supply: float | None) -> WorkState:
        """Look for changes of a job under way, as `replan_job`. Errors: NotFoundError."""
        entries = self._site.counting(plan)
        errand = ReplanErrand(self._desk.plan(plan), entries, hour, second_supply, 0)
        return self._begin(("changes", plan), errand, entries, hour, second_supply)

    def changes(self, plan: uuid.UUID) -> tuple[WorkState, Outcome | None]:
        """How far that is, and what was found. Errors: NotFoundError."""
        job, state = self._state(("changes", plan), plan)
        return state, None if job is None else job.result

    def cancel_changes(self, plan: uuid.UUID) -> WorkState:
        """Ask the search to end; the best so far is kept when there is one. Errors: NotFoundError."""
        job, _ = self._state(("changes", plan), plan)
        if job is not None:
            self._desk.background.cancel(job)
        return self._state(("changes", plan), plan)[1]

    def change_files(self, plan: uuid.UUID, number: int) -> Mapping[str, bytes]:
        """Files of the whole plan of one change, counted from 1. Errors: NotFoundError, StateError."""
        job, _ = self._state(("changes", plan), plan)
        if job is None or job.result is None:
            raise StateError("No changes were looked for yet, or the program was started anew: look for them again.")
        if not 1 <= number <= len(job.result.changes):
            raise NotFoundError("change", number)
        return self._files(id(job), number)

    def effect(self, plan: uuid.UUID, entry: uuid.UUID) -> Effect:
        """What an entry of the log changes in a plan. Errors: NotFoundError; InputError when the log lacks it."""
        log = self._store.log.whole(self._store.plans.get(plan).yard)
        return self._effect(plan, entry, tuple(one.id for one in log))

    def _effected(self, plan: uuid.UUID, entry: uuid.UUID, ids: tuple[uuid.UUID, ...]) -> Effect:
        log = [e for e in self._store.log.whole(self._store.plans.get(plan).yard) if e.id in set(ids)]
        return effect_of(entry, self._desk.plan(plan), log, self._desk.catalogue)

    def _drawn(self, job: int, number: int) -> Mapping[str, bytes]:
        own = next(one for one in self._jobs.values() if id(one) == job)
        return plan_files(own.result.changes[number - 1], self._desk.catalogue)

    def _begin(self, key: Key, errand: Errand, entries: list[Entry], *terms: object) -> WorkState:
        digest = _digest(entries, *terms)
        with self._lock:
            job = self._jobs.get(key)
            usable = job is not None and job.status in ("waiting", "running", "done")
            if not (usable and self._digests.get(key) == digest):
                if job is not None and not job.ended:
                    self._desk.background.cancel(job)
                self._jobs[key] = self._desk.background.start(errand, changed=lambda _job: None)
                self._digests[key] = digest
                self._jobs.move_to_end(key)
                while len(self._jobs) > _KEPT:
                    self._digests.pop(self._jobs.popitem(last=False)[0], None)
        return _told(self._jobs[key], stale=False)

    def _state(self, key: Key, plan: uuid.UUID) -> tuple[Job | None, WorkState]:
        entries = self._site.counting(plan)
        job = self._jobs.get(key)
        if job is None:
            return None, WorkState("not begun")
        return job, _told(job, stale=not self._digests[key].startswith(_digest(entries)))


def _digest(entries: list[Entry], *terms: object) -> str:
    """Name of what counts of a log, and of the terms that are asked on."""
    own = sha256("\n".join(entry.model_dump_json() for entry in entries).encode()).hexdigest()
    return " ".join([own, *map(str, terms)])


def _told(job: Job, *, stale: bool) -> WorkState:
    return WorkState(job.status, job.stage, job.share, job.keeps, job.message, stale)
