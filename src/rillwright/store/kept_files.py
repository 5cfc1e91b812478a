"""Files kept with a yard, one of each kind: weather, days of this season, the watering calendar last given out."""

import uuid
from dataclasses import dataclass
from typing import Literal

from rillwright.errors import InputError, NotFoundError
from rillwright.store.database import Database, now
from rillwright.store.schema import KeptFileRow, YardRow

__all__ = ["LARGEST_FILE", "FileKind", "KeptFile", "KeptFiles"]

FileKind = Literal["weather", "recent", "calendar"]
LARGEST_FILE = 10_000_000  # [bytes]; a hundred years of days are 4 MB


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file and the name it came with."""

    name: str
    data: bytes


class KeptFiles:
    """The kept files of a store."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def put(self, yard: uuid.UUID, kind: FileKind, file: KeptFile) -> None:
        """Keep a file in place of the last of its kind. Errors: NotFoundError; InputError for one that is too large."""
        if len(file.data) > LARGEST_FILE:
            raise InputError(f"{file.name} is larger than {LARGEST_FILE / 1e6:.0f} MB: give fewer years.")
        with self._database.session() as session:
            if session.get(YardRow, yard) is None:
                raise NotFoundError("yard", yard)
            session.merge(KeptFileRow(yard=yard, kind=kind, name=file.name[-120:], data=file.data, kept=now()))

    def get(self, yard: uuid.UUID, kind: FileKind) -> KeptFile | None:
        """The file of a kind; None when there is none."""
        with self._database.session() as session:
            row = session.get(KeptFileRow, (yard, kind))
            return None if row is None else KeptFile(row.name, row.data)

    def drop(self, yard: uuid.UUID, kind: FileKind) -> None:
        """Let go of the file of a kind."""
        with self._database.session() as session:
            row = session.get(KeptFileRow, (yard, kind))
            if row is not None:
                session.delete(row)
