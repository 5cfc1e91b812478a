"""The field log and the ticks: append-only, in order, each entry once however often it is sent."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Literal

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from rillwright.errors import NotFoundError, StateError
from rillwright.model.field_log import Entry, Ticked
from rillwright.store.database import Database, now
from rillwright.store.schema import EntryRow, TickRow, YardRow

__all__ = ["FieldLog", "Receipt", "StoredEntry", "Tick"]


@dataclass(frozen=True, slots=True)
class StoredEntry:
    """An entry as it was kept."""

    seq: int  # order of arrival, over all yards
    received: datetime
    entry: Entry
    corrected_by: tuple[uuid.UUID, ...] = ()  # its corrections, in order; the last counts


@dataclass(frozen=True, slots=True)
class Receipt:
    """What became of an entry that was sent."""

    id: uuid.UUID
    status: Literal["stored", "already stored", "refused", "asked"]  # asked: kept once it is confirmed
    seq: int | None  # None when it was not kept, and of a tick
    why: str = ""  # it was not kept
    asked: tuple[str, ...] = ()  # what is to be confirmed, by the names of the rules


@dataclass(frozen=True, slots=True)
class Tick:
    """Whether a step of the work is done, by the word on it that arrived last."""

    id: uuid.UUID
    step: str
    done: bool
    made: datetime  # by the clock of who ticked
    received: datetime
    contested: bool  # whether the word before it says otherwise, and who ticked had not seen that one


_ALL = 2**31 - 1  # entries at once


class FieldLog:
    """The field logs of a store."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def append(self, yard: uuid.UUID, entries: Sequence[Entry]) -> list[Receipt]:
        """Keep entries in their order; one that is here already stays as it is. Errors: NotFoundError."""
        with self._database.session() as session:
            _check_yard(session, yard)
            return [_keep(session, yard, entry) for entry in entries]

    def here(self, entries: Sequence[Entry]) -> set[uuid.UUID]:
        """Ids of entries that some yard's log holds."""
        ids = [entry.id for entry in entries]
        with self._database.session() as session:
            kept = set(session.scalars(select(EntryRow.id).where(EntryRow.id.in_(ids))))
            return kept | set(session.scalars(select(TickRow.id).where(TickRow.id.in_(ids))))

    def entries(self, yard: uuid.UUID, *, after: int = 0, most: int = 500) -> list[StoredEntry]:
        """Entries in order of arrival, after a seq. Errors: NotFoundError."""
        with self._database.session() as session:
            _check_yard(session, yard)
            own = select(EntryRow).where(EntryRow.yard == yard).order_by(EntryRow.seq)
            corrected: dict[uuid.UUID, list[uuid.UUID]] = {}
            for row in session.scalars(own.where(EntryRow.corrects.is_not(None))):
                if row.corrects is not None:
                    corrected.setdefault(row.corrects, []).append(row.id)
            return [
                StoredEntry(
                    row.seq, row.received, Entry.model_validate_json(row.entry), tuple(corrected.get(row.id, ()))
                )
                for row in session.scalars(own.where(EntryRow.seq > after).limit(most))
            ]

    def tick(
        self, yard: uuid.UUID, step: str, *, tick: uuid.UUID, done: bool, made: datetime, over: uuid.UUID | None
    ) -> Tick:
        """Keep a word on a step; the one that arrives last counts, whatever the clocks of devices say.

        Parameters: tick, id given by its sender, kept once however often it is sent; over, the word on the step that
        the sender had seen. Returns: how the step stands now. Errors: NotFoundError; StateError for an id in use.
        """
        with self._database.session() as session:
            _check_yard(session, yard)
            here = session.scalars(select(TickRow).where(TickRow.id == tick)).first()
            if here is None:
                session.add(TickRow(id=tick, yard=yard, step=step, done=done, made=made, received=now(), over=over))
                session.flush()
            elif (here.yard, here.step, here.done, here.made) != (yard, step, done, made):
                raise StateError("Another tick has this id: give this one an id of its own.")
            return _standing(session.scalars(_words(yard).where(TickRow.step == step)).all())[0]

    def ticks(self, yard: uuid.UUID) -> list[Tick]:
        """Every step that was ever ticked. Errors: NotFoundError."""
        with self._database.session() as session:
            _check_yard(session, yard)
            return _standing(session.scalars(_words(yard)).all())

    def whole(self, yard: uuid.UUID) -> list[Entry]:
        """All that was written of a yard, ticks too, in the order of arrival. Errors: NotFoundError."""
        entries = [(stored.received, stored.entry) for stored in self.entries(yard, most=_ALL)]
        with self._database.session() as session:
            rows = session.scalars(select(TickRow).where(TickRow.yard == yard).order_by(TickRow.seq)).all()
        ticks = [(row.received, _as_entry(row)) for row in rows]
        return [entry for _, entry in sorted([*entries, *ticks], key=lambda pair: pair[0])]


def _words(yard: uuid.UUID) -> Select[TickRow]:
    return select(TickRow).where(TickRow.yard == yard).order_by(TickRow.step, TickRow.seq)


def _standing(words: Sequence[TickRow]) -> list[Tick]:
    """How each step stands, of all words in order of step and arrival."""
    ticks = []
    for _, own in groupby(words, key=lambda row: row.step):
        *earlier, last = own
        before = earlier[-1] if earlier else None
        contested = before is not None and before.done != last.done and last.over != before.id
        ticks.append(Tick(last.id, last.step, last.done, last.made, last.received, contested))
    return ticks


def _check_yard(session: Session, yard: uuid.UUID) -> None:
    if session.get(YardRow, yard) is None:
        raise NotFoundError("yard", yard)


def _as_entry(row: TickRow) -> Entry:
    return Entry(id=row.id, made=row.made, what=Ticked(kind="tick", item=row.step, done=row.done))


def _keep_tick(session: Session, yard: uuid.UUID, entry: Entry, what: Ticked) -> Receipt:
    """A tick that came as an entry stands with the other ticks."""
    here = session.scalars(select(TickRow).where(TickRow.id == entry.id)).first()
    if here is None:
        row = TickRow(
            id=entry.id, yard=yard, step=what.item, done=what.done, made=entry.made, received=now(), over=None
        )
        session.add(row)
        session.flush()
        return Receipt(entry.id, "stored", None)
    if here.yard == yard and _as_entry(here).what == what:
        return Receipt(entry.id, "already stored", None)
    return Receipt(entry.id, "refused", None, "another tick has this id: give this one an id of its own")


def _keep(session: Session, yard: uuid.UUID, entry: Entry) -> Receipt:
    if isinstance(entry.what, Ticked):
        return _keep_tick(session, yard, entry, entry.what)
    here = session.scalars(select(EntryRow).where(EntryRow.id == entry.id)).first()
    if here is not None:
        if here.yard == yard and Entry.model_validate_json(here.entry) == entry:
            return Receipt(entry.id, "already stored", here.seq)
        return Receipt(entry.id, "refused", None, "another entry has this id: give a changed entry an id of its own")
    why = _wrong_correction(session, yard, entry)
    if why:
        return Receipt(entry.id, "refused", None, why)
    row = EntryRow(id=entry.id, yard=yard, corrects=entry.corrects, received=now(), entry=entry.model_dump_json())
    session.add(row)
    session.flush()
    return Receipt(entry.id, "stored", row.seq)


def _wrong_correction(session: Session, yard: uuid.UUID, entry: Entry) -> str:
    if entry.corrects is None:
        return "only a correction withdraws: name the entry in 'corrects'" if entry.withdraws else ""
    first = session.scalars(select(EntryRow).where(EntryRow.id == entry.corrects, EntryRow.yard == yard)).first()
    if first is None:
        return f"this yard's log has no entry {entry.corrects} to correct: send that one first"
    if first.corrects is not None:
        return f"{entry.corrects} is a correction itself: correct the first entry, {first.corrects}"
    return ""
