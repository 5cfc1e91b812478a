"""Plans and the jobs that make them."""

import uuid
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Literal, cast, get_args

from sqlalchemy import select, update
from sqlalchemy.orm import Session, defer

from rillwright.errors import NotFoundError, StateError
from rillwright.store.database import Database, now
from rillwright.store.schema import PlanRow, RevisionRow, YardRow

__all__ = ["PlanBrief", "PlanNote", "PlanStatus", "Plans"]

PlanStatus = Literal["waiting", "running", "done", "stopped early", "cancelled", "failed"]
_UNDER_WAY = ("waiting", "running")
_HAVE_PLAN = ("done", "stopped early")


@dataclass(frozen=True, slots=True)
class PlanNote:
    """A plan in a list."""

    id: uuid.UUID
    yard: uuid.UUID
    revision: int
    seed: int
    software: str
    status: PlanStatus
    message: str  # why it failed; else empty
    made: datetime
    ended: datetime | None
    verdict: str | None
    headline: str | None
    aim: str | None
    heads: int | None
    cost: float | None  # [currency]
    currency: str | None
    current: bool  # the one that is built and worked by


@dataclass(frozen=True, slots=True)
class PlanBrief:
    """What tells a plan that was made from others."""

    verdict: str
    headline: str
    aim: str
    heads: int
    cost: float | None  # [currency]
    currency: str


class Plans:
    """The plans of a store."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def start(
        self, yard: uuid.UUID, *, revision: int, seed: int, software: str, start: str = ""
    ) -> tuple[PlanNote, bool]:
        """Give the plan of a revision, a seed and a start, and whether it is new and must be made.

        One that is done or under way serves again; one that was stopped early or failed is made anew. Parameters:
        start, a digest of what it goes on from; empty for nothing.
        """
        with self._database.session() as session:
            asked = select(PlanRow).where(
                PlanRow.yard == yard,
                PlanRow.revision == revision,
                PlanRow.seed == seed,
                PlanRow.software == software,
                PlanRow.start == start,
                PlanRow.status.in_(("done", *_UNDER_WAY)),
            )
            row = session.scalars(asked).first()
            if row is not None:
                return _note(session, row), False
            row = PlanRow(
                id=uuid.uuid4(), yard=yard, revision=revision, seed=seed, software=software, start=start,
                status="waiting", message="", made=now(), ended=None, verdict=None, headline=None, document=None,
                aim=None, heads=None, cost=None, currency=None,
            )  # fmt: skip
            session.add(row)
            session.flush()
            return _note(session, row), True

    def take_up(
        self, yard: uuid.UUID, *, revision: int, seed: int, software: str, start: str, document: str, brief: PlanBrief
    ) -> PlanNote:
        """Keep a plan that was not made here of a revision, but of another plan: what a change makes of that."""
        made = now()
        with self._database.session() as session:
            row = PlanRow(
                id=uuid.uuid4(), yard=yard, revision=revision, seed=seed, software=software, start=start, status="done",
                message="", made=made, ended=made, document=document, **asdict(brief),
            )  # fmt: skip
            session.add(row)
            session.flush()
            return _note(session, row)

    def of_yard(self, yard: uuid.UUID) -> list[PlanNote]:
        """Plans of a yard, newest first.

        Current is the newest that was made of the revision that the yard is at, or of one that it came from: what undo
        went back behind counts no longer. When there is none such, it is the newest of all.
        """
        with self._database.session() as session:
            current = _current(session, yard)
            asked = select(PlanRow).where(PlanRow.yard == yard).order_by(PlanRow.made.desc(), PlanRow.id)
            return [_told(row, current) for row in session.scalars(asked.options(defer(PlanRow.document)))]

    def get(self, plan: uuid.UUID) -> PlanNote:
        """One plan. Errors: NotFoundError."""
        with self._database.session() as session:
            return _note(session, _row(session, plan))

    def document(self, plan: uuid.UUID) -> str:
        """The plan's JSON. Errors: NotFoundError; StateError while it is not made."""
        with self._database.session() as session:
            row = _row(session, plan)
            if row.document is None:
                raise StateError(f"This plan holds nothing to show: it is {row.status}. {row.message}".strip())
            return row.document

    def run(self, plan: uuid.UUID) -> None:
        """Note that work on it began."""
        self._set(plan, status="running")

    def finish(
        self, plan: uuid.UUID, *, document: str, brief: PlanBrief, status: Literal["done", "stopped early"]
    ) -> None:
        """Keep the plan that was made."""
        self._set(plan, status=status, document=document, ended=now(), **asdict(brief))

    def fail(self, plan: uuid.UUID, message: str, *, status: Literal["failed", "cancelled"]) -> None:
        """Note that there will be no plan, and why."""
        self._set(plan, status=status, message=message, ended=now())

    def delete(self, plan: uuid.UUID) -> None:
        """Delete a plan. Errors: NotFoundError; StateError while it is made."""
        with self._database.session() as session:
            row = _row(session, plan)
            if row.status in _UNDER_WAY:
                raise StateError("This plan is being made: cancel that first.")
            session.delete(row)

    def give_up_unfinished(self) -> None:
        """Fail what was under way when the program last ended."""
        with self._database.session() as session:
            ended = {"status": "failed", "message": "The program ended while it was made. Plan again.", "ended": now()}
            session.execute(update(PlanRow).where(PlanRow.status.in_(_UNDER_WAY)).values(ended))

    def _set(self, plan: uuid.UUID, **values: object) -> None:
        """Change a plan; one that was deleted meanwhile stays so."""
        with self._database.session() as session:
            session.execute(update(PlanRow).where(PlanRow.id == plan).values(values))


def _row(session: Session, plan: uuid.UUID) -> PlanRow:
    row = session.get(PlanRow, plan)
    if row is None:
        raise NotFoundError("plan", plan)
    return row


def _current(session: Session, yard: uuid.UUID) -> uuid.UUID | None:
    """The plan that is built and worked by; None when there is none."""
    step = select(RevisionRow.number, RevisionRow.parent).where(RevisionRow.yard == yard)
    chain = (
        step.join(YardRow, YardRow.id == RevisionRow.yard).where(RevisionRow.number == YardRow.head).cte(recursive=True)
    )
    chain = chain.union_all(step.join(chain, RevisionRow.number == chain.c.parent))
    made = select(PlanRow.id).where(PlanRow.yard == yard, PlanRow.status.in_(_HAVE_PLAN))
    made = made.order_by(PlanRow.made.desc(), PlanRow.id).limit(1)
    return session.scalar(made.where(PlanRow.revision.in_(select(chain.c.number)))) or session.scalar(made)


def _note(session: Session, row: PlanRow) -> PlanNote:
    return _told(row, _current(session, row.yard))


def _told(row: PlanRow, current: uuid.UUID | None) -> PlanNote:
    assert row.status in get_args(PlanStatus)
    return PlanNote(
        row.id, row.yard, row.revision, row.seed, row.software, cast(PlanStatus, row.status), row.message, row.made,
        row.ended, row.verdict, row.headline, row.aim, row.heads, row.cost, row.currency, row.id == current,
    )  # fmt: skip
