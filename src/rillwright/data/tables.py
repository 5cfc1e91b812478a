"""The one opener of CSV tables: those packaged beside this file, and those a user hands over.

Units stand in the column names, so a table needs no other words. A row knows its file and line, so that every
complaint says where to look.
"""

import csv
import difflib
import io
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import TypeVar

from rillwright.errors import TableError

__all__ = ["LARGEST_FILE", "LONGEST_TEXT", "Row", "read_table", "read_user_table", "user_rows"]

Word = TypeVar("Word", bound=str)

LARGEST_FILE = 2_000_000  # [bytes] of a user's table
LONGEST_TEXT = 200  # [letters] of a cell
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _.-]{0,59}")
_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?", re.IGNORECASE | re.ASCII)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table: cells by column name, as typed."""

    file: str
    line: int
    cells: Mapping[str, str]

    def error(self, column: str, allowed: str) -> TableError:
        """Make the error for a cell: it says file, line, column, the value that stands there and what may stand."""
        value = self.cells.get(column, "")
        shown = f"'{value[:60]}'" if value else "nothing"
        return TableError(f"{self.file}, line {self.line}, column '{column}': {shown} stands there; {allowed}")

    def text(self, column: str) -> str:
        """Read a text that must not be empty, nor longer than LONGEST_TEXT."""
        if not 0 < len(self.cells[column]) <= LONGEST_TEXT:
            raise self.error(column, f"it must not be empty, nor longer than {LONGEST_TEXT} letters")
        return self.cells[column]

    def name(self, column: str) -> str:
        """Read a name, spelt as ids are in a yard: letters, digits, spaces, '_', '.' and '-'."""
        if not _NAME.fullmatch(self.cells[column]):
            raise self.error(column, "write 1 to 60 letters, digits, spaces, '_', '.' or '-', a letter or digit first")
        return self.cells[column]

    def choice(self, column: str, allowed: Sequence[Word]) -> Word:
        """Read one of the allowed words; a long list is cut to those nearest in spelling."""
        value = self.cells[column]
        for word in allowed:
            if word == value:
                return word
        near = difflib.get_close_matches(value, allowed, n=8, cutoff=0.3) if len(allowed) > 12 else allowed
        raise self.error(column, f"write one of: {', '.join(near or allowed[:8])}")

    def number(self, column: str, *, low: float = -math.inf, high: float = math.inf) -> float:
        """Read a number within low..high, in the column's own unit."""
        if not _NUMBER.fullmatch(self.cells[column]):
            raise self.error(column, "write a number such as 2.5")
        value = float(self.cells[column])
        if not (math.isfinite(value) and low <= value <= high):
            limits = [f"at least {low:g}"] * (low > -math.inf) + [f"at most {high:g}"] * (high < math.inf)
            raise self.error(column, f"write a number of {' and '.join(limits) or 'finite size'}")
        return value

    def optional(self, column: str, *, low: float = -math.inf, high: float = math.inf) -> float | None:
        """Read a number, or None where the cell is empty."""
        return self.number(column, low=low, high=high) if self.cells[column] else None

    def numbers(self, column: str, *, low: float, high: float) -> tuple[float, ...]:
        """Read numbers parted by spaces; none where the cell is empty."""
        parts = (Row(self.file, self.line, {column: part}) for part in self.cells[column].split())
        return tuple(part.number(column, low=low, high=high) for part in parts)

    def yes(self, column: str) -> bool:
        """Read 'yes' or 'no'."""
        return self.choice(column, ("yes", "no")) == "yes"


def read_table(name: str) -> tuple[Row, ...]:
    """Read a packaged table by its name, such as 'pipes'."""
    text = (resources.files(__package__) / f"{name}.csv").read_text(encoding="utf-8")
    return _rows(f"{name}.csv", text)


def read_user_table(
    path: Path, columns: Sequence[tuple[str, ...]], *, optional: Sequence[tuple[str, ...]] = ()
) -> tuple[Row, ...]:
    """Read a user's table.

    Parameters: path; columns, for each column the names it may go by (one for each unit), of which the header must
    hold exactly one; optional, the same for columns that may be left out. Errors: TableError when the file cannot be
    read, is too large, is no UTF-8, holds no rows, or when its header lacks a column, repeats one or holds one that
    nobody knows.
    """
    rows = user_rows(path)
    header = tuple(rows[0].cells)
    for number, names in enumerate([*columns, *optional]):
        found = [name for name in names if name in header]
        if len(found) > 1 or (not found and number < len(columns)):
            what = "is missing" if not found else f"is there more than once ({', '.join(found)})"
            raise TableError(f"{path}, line 1: column {_either(names)} {what}. The header reads: {', '.join(header)}")
    known = [name for names in (*columns, *optional) for name in names]
    for name in header:
        if name not in known:
            raise TableError(f"{path}, line 1: column '{name}' is not known. Known columns: {', '.join(known)}")
    return rows


def user_rows(path: Path) -> tuple[Row, ...]:
    """Lines of a user's table, whatever its columns. Errors: TableError when it cannot be read as a table."""
    return _rows(str(path), _text(path))


def _either(names: tuple[str, ...]) -> str:
    return " or ".join(f"'{name}'" for name in names)


def _text(path: Path) -> str:
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE:
            raise TableError(f"{path}: {size} bytes is too large for a table; at most {LARGEST_FILE} bytes")
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise TableError(f"{path}: cannot be opened: {error.strerror}. Give the path of a CSV file") from None
    except UnicodeDecodeError as error:
        message = f"{path}: byte {error.start} is not UTF-8 text. Save the table as 'CSV UTF-8'"
        raise TableError(message) from None


def _rows(file: str, text: str) -> tuple[Row, ...]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        lines = [(reader.line_num, [cell.strip() for cell in cells]) for cells in reader]
    except csv.Error as error:
        raise TableError(f"{file}, line {reader.line_num}: not readable as CSV: {error}") from None
    lines = [(line, cells) for line, cells in lines if any(cells)]
    if len(lines) < 2:
        raise TableError(f"{file}: holds no rows. Write a header line and at least one row under it")
    header = lines[0][1]
    if len(set(header)) != len(header) or "" in header:
        raise TableError(f"{file}, line 1: the header has an empty or repeated column name: {', '.join(header)}")
    for line, cells in lines[1:]:
        if len(cells) != len(header):
            raise TableError(f"{file}, line {line}: {len(cells)} cells stand there; the header has {len(header)}")
    return tuple(Row(file, line, dict(zip(header, cells, strict=True))) for line, cells in lines[1:])
