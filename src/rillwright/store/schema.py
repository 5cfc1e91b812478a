"""The tables. A change here needs a migration in `migrations/versions`; a test compares the two."""

import uuid
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, Double, ForeignKey, Index, String, TypeDecorator, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

__all__ = [
    "Base",
    "DeviceRow",
    "EntryRow",
    "ImageRow",
    "KeptFileRow",
    "PhotoRow",
    "PlanRow",
    "ResultRow",
    "RevisionRow",
    "TickRow",
    "YardRow",
]


class _Utc(TypeDecorator[datetime]):
    """A time with its zone; SQLite knows none, so it is kept in UTC."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Any) -> datetime | None:  # noqa: ARG002
        """To what SQLite keeps."""
        return value if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Any) -> datetime | None:  # noqa: ARG002
        """From what SQLite keeps."""
        return value if value is None else value.replace(tzinfo=UTC)


class Base(DeclarativeBase):
    """All tables."""

    type_annotation_map = {datetime: _Utc}  # noqa: RUF012


class YardRow(Base):
    """A yard; `head` is the revision that it is at."""

    __tablename__ = "yards"
    id: Mapped[uuid.UUID] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120))
    head: Mapped[int]
    made: Mapped[datetime]
    changed: Mapped[datetime]
    binned: Mapped[datetime | None]


class RevisionRow(Base):
    """One revision of a yard, never changed but for `redo`: the child that undo last came from."""

    __tablename__ = "revisions"
    yard: Mapped[uuid.UUID] = mapped_column(ForeignKey("yards.id", ondelete="CASCADE"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    parent: Mapped[int | None]
    redo: Mapped[int | None]
    what: Mapped[str] = mapped_column(String(200))
    made: Mapped[datetime]
    draft: Mapped[bool]
    document: Mapped[str]


class PlanRow(Base):
    """A plan of one revision, or the job that makes it."""

    __tablename__ = "plans"
    __table_args__ = (Index("plans_of_yard", "yard", "revision"),)
    id: Mapped[uuid.UUID] = mapped_column(primary_key=True)
    yard: Mapped[uuid.UUID] = mapped_column(ForeignKey("yards.id", ondelete="CASCADE"))
    revision: Mapped[int]
    seed: Mapped[int]
    software: Mapped[str] = mapped_column(String(40))
    start: Mapped[str] = mapped_column(String(64))  # digest of what the plan goes on from; empty for none
    status: Mapped[str] = mapped_column(String(20))
    message: Mapped[str]
    made: Mapped[datetime]
    ended: Mapped[datetime | None]
    verdict: Mapped[str | None] = mapped_column(String(30))
    headline: Mapped[str | None]
    document: Mapped[str | None]
    aim: Mapped[str | None] = mapped_column(String(20))
    heads: Mapped[int | None]
    cost: Mapped[float | None] = mapped_column(Double)
    currency: Mapped[str | None] = mapped_column(String(3))


class ResultRow(Base):
    """What was worked out last of a plan and its log, of one kind."""

    __tablename__ = "results"
    plan: Mapped[uuid.UUID] = mapped_column(ForeignKey("plans.id", ondelete="CASCADE"), primary_key=True)
    kind: Mapped[str] = mapped_column(String(20), primary_key=True)
    digest: Mapped[str] = mapped_column(String(64))  # of what counted of the log
    terms: Mapped[str]  # that it was asked on, as JSON
    early: Mapped[bool]  # stopped early
    document: Mapped[str]


class EntryRow(Base):
    """One entry of the field log, never changed; `seq` is the order of arrival."""

    __tablename__ = "entries"
    __table_args__ = (UniqueConstraint("id"), {"sqlite_autoincrement": True})
    seq: Mapped[int] = mapped_column(primary_key=True, autoincrement=True)
    id: Mapped[uuid.UUID]
    yard: Mapped[uuid.UUID] = mapped_column(ForeignKey("yards.id", ondelete="CASCADE"), index=True)
    corrects: Mapped[uuid.UUID | None]
    received: Mapped[datetime]
    entry: Mapped[str]


class TickRow(Base):
    """One word on whether a step of the work is done, never changed; `seq` is the order of arrival."""

    __tablename__ = "ticks"
    __table_args__ = (UniqueConstraint("id"), {"sqlite_autoincrement": True})
    seq: Mapped[int] = mapped_column(primary_key=True, autoincrement=True)
    id: Mapped[uuid.UUID]
    yard: Mapped[uuid.UUID] = mapped_column(ForeignKey("yards.id", ondelete="CASCADE"), index=True)
    step: Mapped[str] = mapped_column(String(120))
    done: Mapped[bool]
    made: Mapped[datetime]
    received: Mapped[datetime]
    over: Mapped[uuid.UUID | None]


class PhotoRow(Base):
    """A photo of the field log; its bytes are a file named by their hash."""

    __tablename__ = "photos"
    id: Mapped[uuid.UUID] = mapped_column(primary_key=True)
    yard: Mapped[uuid.UUID] = mapped_column(ForeignKey("yards.id", ondelete="CASCADE"), index=True)
    sha256: Mapped[str] = mapped_column(String(64))
    media: Mapped[str] = mapped_column(String(40))
    size: Mapped[int]
    received: Mapped[datetime]


class ImageRow(Base):
    """A picture under the drawing, such as a survey, and how it lies on the plan."""

    __tablename__ = "images"
    id: Mapped[uuid.UUID] = mapped_column(primary_key=True)
    yard: Mapped[uuid.UUID] = mapped_column(ForeignKey("yards.id", ondelete="CASCADE"), index=True)
    name: Mapped[str] = mapped_column(String(120))
    sha256: Mapped[str] = mapped_column(String(64))
    media: Mapped[str] = mapped_column(String(40))
    size: Mapped[int]
    made: Mapped[datetime]
    placement: Mapped[dict[str, object]] = mapped_column(JSON)


class KeptFileRow(Base):
    """A file kept with a yard, one of each kind: its weather, the watering calendar that was last given out."""

    __tablename__ = "kept_files"
    yard: Mapped[uuid.UUID] = mapped_column(ForeignKey("yards.id", ondelete="CASCADE"), primary_key=True)
    kind: Mapped[str] = mapped_column(String(20), primary_key=True)
    name: Mapped[str] = mapped_column(String(120))
    data: Mapped[bytes]
    kept: Mapped[datetime]


class DeviceRow(Base):
    """A device that was let in over the network."""

    __tablename__ = "devices"
    __table_args__ = (UniqueConstraint("digest"),)
    id: Mapped[uuid.UUID] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(60))
    digest: Mapped[str] = mapped_column(String(64))
    let_in: Mapped[datetime]
    seen: Mapped[datetime]
