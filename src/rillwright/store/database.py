"""The SQLite file: opened, brought to the newest tables, and used one short transaction after another."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from rillwright.errors import InputError

__all__ = ["Database", "now"]

_PATIENCE = 15  # [s] to wait for another process that writes


class Database:
    """One SQLite file. Every transaction takes the write lock at its start, so that what it read still holds."""

    def __init__(self, file: Path) -> None:
        """Open or make the file and migrate it. Errors: InputError when it cannot be used."""
        self._engine = _engine(file)
        try:
            with self._engine.connect() as connection:
                _migrate(connection, file)
        except DatabaseError as error:
            self.close()
            raise InputError(f"{file} cannot be used as a store: {error.orig}. Choose another --data folder.") from None
        except BaseException:
            self.close()
            raise

    @contextmanager
    def session(self) -> Iterator[Session]:
        """Give a session; what it did is kept when it ends well, and undone when it does not."""
        with Session(self._engine, expire_on_commit=False) as session, session.begin():
            yield session

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()


def now() -> datetime:
    """The time, in UTC."""
    return datetime.now(UTC)


def _engine(file: Path) -> Engine:
    engine = create_engine(f"sqlite:///{file}", connect_args={"timeout": _PATIENCE})

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # transactions begin below, not by the driver's guess
        for words in ("journal_mode = WAL", "foreign_keys = ON", "synchronous = FULL"):
            connection.execute(f"PRAGMA {words}")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    return engine


def _migrate(connection: Connection, file: Path) -> None:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.attributes["connection"] = connection
    known = {step.revision for step in ScriptDirectory.from_config(config).walk_revisions()}
    at = MigrationContext.configure(connection).get_current_revision()
    if at is not None and at not in known:
        raise InputError(f"{file} was written by a newer version of this program: use that, or another --data folder.")
    command.upgrade(config, "head")
    connection.commit()
