"""Devices let in over the network: by what name, when last seen. Of each one's token only a digest is kept."""

import hashlib
import secrets
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, select

from rillwright.errors import NotFoundError, StateError
from rillwright.store.database import Database, now
from rillwright.store.schema import DeviceRow

__all__ = ["LASTS", "Device", "Devices"]

LASTS = timedelta(days=30)  # after a device was last seen

_MOST = 20
_LOOK = timedelta(minutes=1)  # how exactly it is kept when a device was last seen


@dataclass(frozen=True, slots=True)
class Device:
    """A device that was let in."""

    id: uuid.UUID
    name: str  # that it gave
    let_in: datetime
    seen: datetime


class Devices:
    """The devices of a store."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def let_in(self, name: str) -> str:
        """Let a device in, and give the token that it shows from now on. Errors: StateError when there are too many."""
        token, when = secrets.token_urlsafe(32), now()
        with self._database.session() as session:
            session.execute(delete(DeviceRow).where(DeviceRow.seen < when - LASTS))
            if len(session.scalars(select(DeviceRow.id)).all()) >= _MOST:
                raise StateError(f"{_MOST} devices are let in, the most there may be: turn one out first.")
            session.add(DeviceRow(id=uuid.uuid4(), name=name, digest=_digest(token), let_in=when, seen=when))
        return token

    def knows(self, token: str) -> bool:
        """Whether a token is that of a device that is still let in; it counts as seen now."""
        when = now()
        with self._database.session() as session:
            row = session.scalars(select(DeviceRow).where(DeviceRow.digest == _digest(token))).first()
            if row is None or row.seen < when - LASTS:
                return False
            if row.seen < when - _LOOK:
                row.seen = when
            return True

    def all(self) -> list[Device]:
        """Devices that are let in, the last seen first."""
        with self._database.session() as session:
            asked = select(DeviceRow).where(DeviceRow.seen >= now() - LASTS).order_by(DeviceRow.seen.desc())
            return [Device(row.id, row.name, row.let_in, row.seen) for row in session.scalars(asked)]

    def turn_out(self, device: uuid.UUID) -> None:
        """Let a device in no more. Errors: NotFoundError."""
        with self._database.session() as session:
            row = session.get(DeviceRow, device)
            if row is None:
                raise NotFoundError("device", device)
            session.delete(row)


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
