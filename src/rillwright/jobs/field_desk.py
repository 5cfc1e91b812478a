"""What a stored log concludes and what may be changed now: long work, done in the desk's worker processes.

The last result of each kind is kept in the store, with what counted of the log: a restart loses none, and a log that
grew is concluded from anew.
"""

import json
import threading
import uuid
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import lru_cache
from hashlib import sha256
from typing import Any, Literal

from pydantic import TypeAdapter, ValidationError

from rillwright import __version__
from rillwright.errors import NotFoundError, StateError
from rillwright.exchange.yard_file import validated
from rillwright.jobs.answers import Answer
from rillwright.jobs.answers.effect import Effect, effect_of
from rillwright.jobs.background import Job
from rillwright.jobs.desk import Desk, brief_of
from rillwright.jobs.errands import AnswerErrand, Errand, ReplanErrand
from rillwright.jobs.replan import Outcome, in_yard
from rillwright.jobs.replan.adopt import yard_after
from rillwright.jobs.replan.state import job_fact
from rillwright.jobs.site_desk import SiteDesk
from rillwright.jobs.write import plan_files
from rillwright.model.field_log import Entry
from rillwright.model.plan import Plan
from rillwright.store import Store
from rillwright.store.plans import PlanNote
from rillwright.store.results import Result, ResultKind

__all__ = ["ChangeTerms", "FieldDesk", "WorkState"]

_FORMS: Mapping[ResultKind, TypeAdapter[Any]] = {
    "answers": TypeAdapter(tuple[Answer, ...]),
    "changes": TypeAdapter(Outcome),
}

Key = tuple[ResultKind, uuid.UUID]


@dataclass(frozen=True, slots=True)
class ChangeTerms:
    """On what terms changes of a job are weighed; as `replan_job`."""

    hour: float = 20 / 3600  # [currency/s] that the owner's labour is worth
    second_supply: float | None = None  # [currency] of a second service, when it may be had
    sure: float | None = None  # [0..1] chance with which a change must hold; None: as surely as the plan


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
        self._asked: dict[Key, _Asked] = {}  # under way, or ended without a result that is kept
        self._lock = threading.Lock()
        self._effect = lru_cache(maxsize=200)(self._effected)
        self._read = lru_cache(maxsize=6)(_read)
        self._files = lru_cache(maxsize=4)(self._drawn)

    def ask_answers(self, plan: uuid.UUID) -> WorkState:
        """Conclude from the log as it is now; what was concluded already serves again. Errors: NotFoundError."""
        entries = self._site.counting(plan)
        return self._begin(("answers", plan), AnswerErrand(self._desk.plan(plan), entries, 0), entries, "{}")

    def answers(self, plan: uuid.UUID) -> tuple[WorkState, tuple[Answer, ...]]:
        """How far that is, and the conclusions. Errors: NotFoundError."""
        state, found = self._state(("answers", plan))
        return state, () if found is None else self._read("answers", found.document)

    def ask_changes(self, plan: uuid.UUID, terms: ChangeTerms) -> WorkState:
        """Look for changes of a job under way, as `replan_job`.

        Errors: NotFoundError; YardError for a draft; InputError when the yard is no longer the plan's, as `in_yard`.
        """
        entries = self._site.counting(plan)
        yard = self._store.yards.revision(self._store.plans.get(plan).yard)
        building = in_yard(self._desk.plan(plan), validated(yard.document, source="the yard"))
        errand = ReplanErrand(building, entries, terms.hour, terms.second_supply, terms.sure, 0)
        return self._begin(("changes", plan), errand, entries, json.dumps(asdict(terms)))

    def changes(self, plan: uuid.UUID) -> tuple[WorkState, Outcome | None, ChangeTerms | None]:
        """How far that is, what was found, and on what terms. Errors: NotFoundError."""
        state, found = self._state(("changes", plan))
        if found is None:
            return state, None, None
        return state, self._read("changes", found.document), ChangeTerms(**json.loads(found.terms))

    def cancel_changes(self, plan: uuid.UUID) -> WorkState:
        """Ask the search to end; the best so far is kept when there is one. Errors: NotFoundError."""
        asked = self._asked.get(("changes", plan))
        if asked is not None:
            self._desk.background.cancel(asked.job)
        return self._state(("changes", plan))[0]

    def change(self, plan: uuid.UUID, number: int) -> Plan:
        """The whole plan of one change, counted from 1. Errors: NotFoundError, StateError."""
        outcome = self.changes(plan)[1]
        if outcome is None:
            raise StateError("No changes were looked for yet: look for them first.")
        if not 1 <= number <= len(outcome.changes):
            raise NotFoundError("change", number)
        return outcome.changes[number - 1]

    def change_files(self, plan: uuid.UUID, number: int) -> Mapping[str, bytes]:
        """Files of the whole plan of one change, counted from 1. Errors: NotFoundError, StateError."""
        return self._files(self.change(plan, number).model_dump_json())

    def take_up(self, plan: uuid.UUID, number: int, *, expected: int) -> PlanNote:
        """Make a change the plan of its yard: a revision that can be undone, and the changed plan as the plan of that.

        Parameters: number, of the change, from 1; expected, the revision that the yard is at. Errors: NotFoundError;
        StaleError when the yard is at another revision; StateError when log or yard have changed since it was found.
        """
        changed, (state, outcome, _) = self.change(plan, number), self.changes(plan)
        assert outcome is not None
        assert changed.change is not None
        if state.stale:
            raise StateError("The log has grown since these changes were found: look for changes again first.")
        yard = self._store.plans.get(plan).yard
        at = self._store.yards.revision(yard)
        now = validated(at.document, source="the yard")
        document = yard_after(at.document, now=now, before=outcome.before, after=changed)
        what = f"change of the job: {', '.join(changed.change.kinds) or 'none'}"[:200]
        kept = self._store.yards.save(yard, document, expected=expected, what=what, draft=False)
        text = changed.model_dump_json(indent=1)
        return self._store.plans.take_up(
            yard,
            revision=kept.note.number,
            seed=changed.seed,
            software=__version__,
            start=sha256(text.encode()).hexdigest(),
            document=text,
            brief=brief_of(changed),
        )

    def effect(self, plan: uuid.UUID, entry: uuid.UUID) -> Effect:
        """What an entry of the log changes in a plan. Errors: NotFoundError; InputError when the log lacks it."""
        log = self._store.log.whole(self._store.plans.get(plan).yard)
        return self._effect(plan, entry, tuple(one.id for one in log))

    def _effected(self, plan: uuid.UUID, entry: uuid.UUID, ids: tuple[uuid.UUID, ...]) -> Effect:
        log = [e for e in self._store.log.whole(self._store.plans.get(plan).yard) if e.id in set(ids)]
        return effect_of(entry, self._desk.plan(plan), log, self._desk.catalogue)

    def _drawn(self, document: str) -> Mapping[str, bytes]:
        return plan_files(Plan.model_validate_json(document), self._desk.catalogue)

    def _begin(self, key: Key, errand: Errand, entries: list[Entry], terms: str) -> WorkState:
        digest = _digest(key[0], entries)
        with self._lock:
            asked = self._asked.get(key)
            same = asked is not None and (asked.digest, asked.terms) == (digest, terms)
            if asked is not None and same and not asked.job.ended:
                return _told(asked.job, stale=False)
            kept = self._kept(key)
            if kept is not None and not kept.early and (kept.digest, kept.terms) == (digest, terms):
                self._asked.pop(key, None)
                return WorkState("done")
            if asked is not None and not asked.job.ended:
                self._desk.background.cancel(asked.job)
            job = self._desk.background.start(errand, changed=lambda job: self._ended(key, job, digest, terms))
            self._asked[key] = _Asked(job, digest, terms)
        return _told(job, stale=False)

    def _ended(self, key: Key, job: Job, digest: str, terms: str) -> None:
        """Keep what a job gave; one that gave nothing is remembered until it is asked anew."""
        if job.result is None:
            return
        kind, plan = key
        text = _FORMS[kind].dump_json(job.result).decode()
        self._store.results.keep(plan, kind, Result(digest, terms, job.status == "stopped early", text))
        with self._lock:
            if key in self._asked and self._asked[key].job is job:
                del self._asked[key]

    def _kept(self, key: Key) -> Result | None:
        """The last result, when this version of the program can read it."""
        kind, plan = key
        found = self._store.results.get(plan, kind)
        try:
            if found is not None:
                self._read(kind, found.document)
        except ValidationError:
            return None
        return found

    def _state(self, key: Key) -> tuple[WorkState, Result | None]:
        """How far it is, and the last result; none of that while a new one is worked out, or when that failed."""
        entries = self._site.counting(key[1])
        asked, digest = self._asked.get(key), _digest(key[0], entries)
        if asked is not None:
            return _told(asked.job, stale=asked.digest != digest), None
        kept = self._kept(key)
        if kept is None:
            return WorkState("not begun"), None
        return WorkState("stopped early" if kept.early else "done", stale=kept.digest != digest), kept


@dataclass(frozen=True, slots=True)
class _Asked:
    """A job, and what it was asked on."""

    job: Job
    digest: str
    terms: str


def _read(kind: ResultKind, document: str) -> Any:
    return _FORMS[kind].validate_json(document)


def _digest(kind: ResultKind, entries: list[Entry]) -> str:
    """Name of what counts of a log for a kind of result, to this version of the program."""
    if kind == "changes":
        entries = [entry for entry in entries if job_fact(entry)]
    return sha256("\n".join([__version__, *(entry.model_dump_json() for entry in entries)]).encode()).hexdigest()


def _told(job: Job, *, stale: bool) -> WorkState:
    if job.result is not None:
        return WorkState("running", "written down", 1.0, stale=stale)
    return WorkState(job.status, job.stage, job.share, job.keeps, job.message, stale)
