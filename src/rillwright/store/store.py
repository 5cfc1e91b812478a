"""The store as a whole: a folder with one database and one folder of picture files."""

import uuid
from pathlib import Path

import platformdirs

from rillwright.errors import InputError
from rillwright.store.database import Database
from rillwright.store.devices import Devices
from rillwright.store.field_log import FieldLog
from rillwright.store.kept_files import KeptFiles
from rillwright.store.pictures import Pictures
from rillwright.store.plans import Plans
from rillwright.store.results import Results
from rillwright.store.yards import Yards

__all__ = ["Store", "default_folder"]


def default_folder() -> Path:
    """Folder for the user's data where the operating system wants it."""
    return Path(platformdirs.user_data_dir("rillwright", appauthor=False))


class Store:
    """Yards, plans, results, field log, pictures, kept files and devices of one data folder."""

    def __init__(self, folder: Path) -> None:
        """Open the folder, made when it is missing. Errors: InputError when it cannot be used."""
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as error:
            raise InputError(f"{folder} cannot be made: {error.strerror}. Choose another --data folder.") from None
        self._database = Database(folder / "rillwright.sqlite3")
        self.yards = Yards(self._database)
        self.plans = Plans(self._database)
        self.results = Results(self._database)
        self.log = FieldLog(self._database)
        self.pictures = Pictures(self._database, folder / "pictures")
        self.files = KeptFiles(self._database)
        self.devices = Devices(self._database)

    def erase(self, yard: uuid.UUID) -> None:
        """Delete a yard in the bin for good, its pictures too. Errors: NotFoundError; StateError outside the bin."""
        with self._database.session() as session:
            files = self.pictures.files_of(session, yard)
            self.yards.erase(session, yard)
            self.pictures.let_go(session, files)

    def close(self) -> None:
        """Let go of the folder."""
        self._database.close()
