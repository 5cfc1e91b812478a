"""Plans that many tests read, each made once: kept for every process and every run of one and the same program."""

import hashlib
import pickle
import shutil
import sqlite3
import sys
from contextlib import closing
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent
PATIENCE = 1200  # [s] for another process to make the plan
MOST = 4  # programs whose plans are kept


def kept(key, make):
    """What was made under this key, else what `make` makes now; who asks meanwhile in another process waits for it.

    Parameters: key, text that says all that the plan depends on beside the program.
    """
    name = hashlib.sha256(key.encode()).hexdigest()[:24]
    with closing(sqlite3.connect(_folder() / f"{name}.sqlite", timeout=PATIENCE, isolation_level=None)) as file:
        file.execute("BEGIN EXCLUSIVE")
        file.execute("CREATE TABLE IF NOT EXISTS kept (pickled BLOB)")
        row = file.execute("SELECT pickled FROM kept").fetchone()
        if row is not None:
            return pickle.loads(row[0])
        made = make()
        file.execute("INSERT INTO kept VALUES (?)", (pickle.dumps(made),))
        file.execute("COMMIT")
        return made


@cache
def _folder():
    """The folder of this program's plans; those of the oldest programs are thrown away."""
    folder = ROOT / "out" / "test-plans" / _program()
    folder.mkdir(parents=True, exist_ok=True)
    for old in sorted(folder.parent.iterdir(), key=lambda path: path.stat().st_mtime)[:-MOST]:
        if old != folder:
            shutil.rmtree(old, ignore_errors=True)
    return folder


def _program():
    """A digest of all that plans come from: Python, the locked packages, the program and its tables."""
    digest = hashlib.sha256(sys.version.encode())
    tables = sorted(p for p in (ROOT / "src").rglob("*") if p.suffix in (".py", ".csv"))
    for path in (ROOT / "requirements" / "dev.txt", *tables):
        digest.update(path.relative_to(ROOT).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:16]
