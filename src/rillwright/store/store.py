"""The store as a whole: a folder with one database and one folder of picture files."""

from pathlib import Path

import platformdirs

from rillwright.errors import InputError
from rillwright.store.database import Database
from rillwright.store.field_log import FieldLog
from rillwright.store.pictures import Pictures
from rillwright.store.plans import Plans
from rillwright.store.yards import Yards

__all__ = ["Store", "default_folder"]


def default_folder() -> Path:
    """Folder for the user's data where the operating system wants it."""
    return Path(platformdirs.user_data_dir("rillwright", appauthor=False))


class Store:
    """Yards, plans, field log and pictures of one data folder."""

    def __init__(self, folder: Path) -> None:
        """Open the folder, made when it is missing. Errors: InputError when it cannot be used."""
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as error:
            raise InputError(f"{folder} cannot be made: {error.strerror}. Choose another --data folder.") from None
        self._database = Database(folder / "rillwright.sqlite3")
        self.yards = Yards(self._database)
        self.plans = Plans(self._database)
        self.log = FieldLog(self._database)
        self.pictures = Pictures(self._database, folder / "pictures")

    def close(self) -> None:
        """Let go of the folder."""
        self._database.close()
