"""Yards and their revisions: every one kept, undo and redo across restarts, no silent overwriting."""

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rillwright.errors import NotFoundError, StaleError, StateError
from rillwright.store.database import Database, now
from rillwright.store.schema import RevisionRow, YardRow

__all__ = ["Document", "Revision", "RevisionNote", "YardNote", "Yards"]

Document = Mapping[str, Any]  # as JSON has it, in the yard's own units; perhaps a draft

_LONGEST_NAME = 120


@dataclass(frozen=True, slots=True)
class YardNote:
    """A yard in a list."""

    id: uuid.UUID
    name: str
    revision: int
    draft: bool  # whether the revision breaks rules of the document still
    made: datetime
    changed: datetime
    binned: datetime | None  # when it was put into the bin


@dataclass(frozen=True, slots=True)
class RevisionNote:
    """A revision in a list."""

    number: int
    parent: int | None
    what: str  # changed, in words
    made: datetime
    draft: bool


@dataclass(frozen=True, slots=True)
class Revision:
    """A revision with its document."""

    note: RevisionNote
    current: int  # revision that the yard is at
    can_undo: bool
    can_redo: bool
    document: Document


class Yards:
    """The yards of a store."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def all(self, *, binned: bool = False) -> list[YardNote]:
        """Yards, or those in the bin, the last changed first."""
        where = YardRow.binned.is_not(None) if binned else YardRow.binned.is_(None)
        with self._database.session() as session:
            rows = session.scalars(select(YardRow).where(where).order_by(YardRow.changed.desc(), YardRow.id)).all()
            return [_note(session, row) for row in rows]

    def get(self, yard: uuid.UUID) -> YardNote:
        """One yard, also from the bin. Errors: NotFoundError."""
        with self._database.session() as session:
            return _note(session, _yard(session, yard))

    def create(self, document: Document, *, what: str, draft: bool) -> YardNote:
        """Keep a new yard, named as its document says."""
        with self._database.session() as session:
            made = now()
            row = YardRow(id=uuid.uuid4(), name=_name(document), head=1, made=made, changed=made, binned=None)
            session.add(row)
            session.flush()
            session.add(_row(row.id, 1, None, document, what=what, draft=draft))
            session.flush()
            return _note(session, row)

    def save(self, yard: uuid.UUID, document: Document, *, expected: int, what: str, draft: bool) -> Revision:
        """Keep a new revision on the one the yard is at.

        Parameters: expected, the revision that the document was made from.
        Errors: NotFoundError; StaleError when the yard is at another revision by now; StateError from the bin.
        """
        with self._database.session() as session:
            row = _kept(session, yard)
            if row.head != expected:
                raise StaleError(expected=expected, current=row.head)
            number = 1 + (session.scalar(select(func.max(RevisionRow.number)).where(RevisionRow.yard == yard)) or 0)
            session.add(_row(yard, number, row.head, document, what=what, draft=draft))
            _revision(session, yard, row.head).redo = number
            row.head, row.name, row.changed = number, _name(document), now()
            session.flush()
            return _full(session, row, number)

    def undo(self, yard: uuid.UUID, *, expected: int) -> Revision:
        """Go back to the parent of the revision that the yard is at. Errors: as save; StateError at the first."""
        with self._database.session() as session:
            row = _kept(session, yard)
            parent = _revision(session, yard, row.head).parent
            return _moved(session, row, parent, expected=expected, there="the first revision: nothing is left to undo")

    def redo(self, yard: uuid.UUID, *, expected: int) -> Revision:
        """Go forward again to where undo came from. Errors: as save; StateError when nothing was undone."""
        with self._database.session() as session:
            row = _kept(session, yard)
            child = _revision(session, yard, row.head).redo
            return _moved(session, row, child, expected=expected, there="the last revision: nothing is left to redo")

    def revisions(self, yard: uuid.UUID, *, before: int | None = None, most: int = 200) -> list[RevisionNote]:
        """Revisions, newest first; before, only those of lower number. Errors: NotFoundError."""
        with self._database.session() as session:
            _yard(session, yard)
            asked = select(RevisionRow).where(RevisionRow.yard == yard)
            if before is not None:
                asked = asked.where(RevisionRow.number < before)
            return [
                _revision_note(row) for row in session.scalars(asked.order_by(RevisionRow.number.desc()).limit(most))
            ]

    def revision(self, yard: uuid.UUID, number: int | None = None) -> Revision:
        """One revision with its document; None is the one that the yard is at. Errors: NotFoundError."""
        with self._database.session() as session:
            row = _yard(session, yard)
            return _full(session, row, row.head if number is None else number)

    def bin(self, yard: uuid.UUID) -> YardNote:
        """Put a yard into the bin. Errors: NotFoundError."""
        with self._database.session() as session:
            row = _yard(session, yard)
            row.binned = row.binned or now()
            return _note(session, row)

    def restore(self, yard: uuid.UUID) -> YardNote:
        """Take a yard out of the bin. Errors: NotFoundError."""
        with self._database.session() as session:
            row = _yard(session, yard)
            row.binned = None
            return _note(session, row)

    def erase(self, session: Session, yard: uuid.UUID) -> None:
        """Delete a yard for good with all rows that belong to it. Errors: NotFoundError; StateError outside the bin."""
        row = _yard(session, yard)
        if row.binned is None:
            raise StateError(f"'{row.name}' is not in the bin: put it there first, then delete it for good.")
        session.delete(row)
        session.flush()


def _name(document: Document) -> str:
    name = document.get("name")
    return (name.strip() if isinstance(name, str) else "")[:_LONGEST_NAME] or "Unnamed yard"


def _row(
    yard: uuid.UUID, number: int, parent: int | None, document: Document, *, what: str, draft: bool
) -> RevisionRow:
    text = json.dumps(document, separators=(",", ":"), allow_nan=False)
    return RevisionRow(
        yard=yard, number=number, parent=parent, redo=None, what=what, made=now(), draft=draft, document=text
    )


def _yard(session: Session, yard: uuid.UUID) -> YardRow:
    row = session.get(YardRow, yard)
    if row is None:
        raise NotFoundError("yard", yard)
    return row


def _kept(session: Session, yard: uuid.UUID) -> YardRow:
    row = _yard(session, yard)
    if row.binned is not None:
        raise StateError(f"'{row.name}' is in the bin: take it out before you change it.")
    return row


def _revision(session: Session, yard: uuid.UUID, number: int) -> RevisionRow:
    row = session.get(RevisionRow, (yard, number))
    if row is None:
        raise NotFoundError("revision", number)
    return row


def _moved(session: Session, row: YardRow, to: int | None, *, expected: int, there: str) -> Revision:
    """Move a yard along its chain of revisions, and remember the way back."""
    if row.head != expected:
        raise StaleError(expected=expected, current=row.head)
    if to is None:
        raise StateError(f"'{row.name}' is at {there}.")
    target = _revision(session, row.id, to)
    if target.number == _revision(session, row.id, row.head).parent:
        target.redo = row.head
    row.head, row.changed = to, now()
    row.name = _name(json.loads(target.document))
    session.flush()
    return _full(session, row, to)


def _note(session: Session, row: YardRow) -> YardNote:
    draft = _revision(session, row.id, row.head).draft
    return YardNote(row.id, row.name, row.head, draft, row.made, row.changed, row.binned)


def _revision_note(row: RevisionRow) -> RevisionNote:
    return RevisionNote(row.number, row.parent, row.what, row.made, row.draft)


def _full(session: Session, yard: YardRow, number: int) -> Revision:
    row, head = _revision(session, yard.id, number), _revision(session, yard.id, yard.head)
    return Revision(
        note=_revision_note(row),
        current=yard.head,
        can_undo=head.parent is not None,
        can_redo=head.redo is not None,
        document=json.loads(row.document),
    )
