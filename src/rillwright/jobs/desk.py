"""Yards of a store planned, looked at and tried out: what a program that stays open does with plans.

Plans are made in the background and kept in the store; what is asked of a plan again and again stays in memory.
"""

import threading
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256

from rillwright import __version__
from rillwright.errors import StateError
from rillwright.exchange.yard_file import validated
from rillwright.jobs.adjust import HeadSetting, Tray, Trays
from rillwright.jobs.background import Background, Job
from rillwright.jobs.errands import PlanErrand
from rillwright.jobs.explained import explained
from rillwright.jobs.go_on import start_from
from rillwright.jobs.write import plan_files
from rillwright.model.catalogue import load_catalogue
from rillwright.model.plan import Plan, Start
from rillwright.report.workings import Working
from rillwright.store import Store
from rillwright.store.plans import PlanBrief, PlanNote

__all__ = ["Desk", "PlanState", "brief_of"]

_KEPT_READ = 8  # plans


@dataclass(frozen=True, slots=True)
class PlanState:
    """A plan, and how far the work on it is."""

    note: PlanNote
    stage: str  # what is being done, in words; empty when nothing is
    share: float  # of that stage, 0 to 1
    keeps: bool  # whether a stop now would give a plan


class Desk:
    """The plans of one store."""

    def __init__(self, store: Store, *, workers: int = 1) -> None:
        self._store = store
        self.background = Background(workers=workers)
        self._jobs: dict[uuid.UUID, Job] = {}
        self._lock = threading.Lock()
        self.catalogue = load_catalogue()
        self._trays = Trays(self.catalogue)
        self.plan = lru_cache(maxsize=_KEPT_READ)(self._read)
        self.workings = lru_cache(maxsize=_KEPT_READ)(self._explained)
        self.files = lru_cache(maxsize=2)(self._drawn)
        store.plans.give_up_unfinished()

    def close(self) -> None:
        """End what is under way; it is lost."""
        self.background.close()
        self._store.plans.give_up_unfinished()

    def start(
        self,
        yard: uuid.UUID,
        *,
        revision: int | None,
        seed: int,
        start: uuid.UUID | None = None,
        settings: Sequence[HeadSetting] = (),
    ) -> PlanState:
        """Plan a revision, the one that the yard is at when None; one that is planned already serves again.

        Parameters: start, a plan to go on from, and settings, how its heads are set otherwise.

        Errors: NotFoundError; YardError for a draft that breaks rules; StateError when too many plans wait.
        """
        found = self._store.yards.revision(yard, revision)
        document = validated(found.document, source="the yard")
        begun = None if start is None else self._start_of(start, settings)
        digest = "" if begun is None else sha256(begun.model_dump_json().encode()).hexdigest()
        with self._lock:
            note, new = self._store.plans.start(
                yard, revision=found.note.number, seed=seed, software=__version__, start=digest
            )
            if new:
                try:
                    errand = PlanErrand(document, seed, begun)
                    job = self.background.start(errand, changed=lambda job: self._note(note.id, job))
                except StateError as error:
                    self._store.plans.fail(note.id, str(error), status="cancelled")
                    raise
                self._jobs[note.id] = job
        return self.state(note.id)

    def _start_of(self, plan: uuid.UUID, settings: Sequence[HeadSetting]) -> Start | None:
        planned = self.plan(plan)
        return start_from(planned, self.tray(plan).adjust(settings).plan.heads) if planned.zones else None

    def state(self, plan: uuid.UUID) -> PlanState:
        """How far a plan is. Errors: NotFoundError."""
        job = self._jobs.get(plan)
        stage, share, keeps = ("", 0.0, False) if job is None else (job.stage, job.share, job.keeps)
        return PlanState(self._store.plans.get(plan), stage, share, keeps)

    def cancel(self, plan: uuid.UUID) -> PlanState:
        """Ask the work on a plan to end; when it holds a complete plan, that is kept. Errors: NotFoundError."""
        job = self._jobs.get(plan)
        if job is not None:
            self.background.cancel(job)
        return self.state(plan)

    def tray(self, plan: uuid.UUID) -> Tray:
        """The plan laid out to be tried otherwise. Errors: NotFoundError, StateError, InputError without zones."""
        return self._trays.of(plan, lambda: self.plan(plan))

    def _note(self, plan: uuid.UUID, job: Job) -> None:
        """Keep what became of a job."""
        plans = self._store.plans
        if job.status == "running":
            plans.run(plan)
            return
        if isinstance(job.result, Plan) and job.status in ("done", "stopped early"):
            text = job.result.model_dump_json(indent=1)
            early = job.status == "stopped early"
            plans.finish(
                plan,
                document=text,
                brief=brief_of(job.result),
                status="stopped early" if early else "done",
            )
        else:
            plans.fail(plan, job.message, status="cancelled" if job.status == "cancelled" else "failed")
        self._jobs.pop(plan, None)

    def _read(self, plan: uuid.UUID) -> Plan:
        return Plan.model_validate_json(self._store.plans.document(plan))

    def _explained(self, plan: uuid.UUID) -> Mapping[str, Working]:
        return explained(self.plan(plan))

    def _drawn(self, plan: uuid.UUID) -> Mapping[str, bytes]:
        return plan_files(self.plan(plan), self.catalogue)


def brief_of(plan: Plan) -> PlanBrief:
    """What tells this plan from others in a list."""
    return PlanBrief(
        verdict=plan.verdict,
        headline=plan.headline,
        aim=plan.yard.heads.aim,
        heads=len(plan.heads),
        cost=None if plan.cost is None else plan.cost.total,
        currency=plan.yard.currency,
    )
