"""The season's days as they come in: each table that is handed over adds its days to those that are kept."""

import csv
import io
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from rillwright.data.tables import user_rows
from rillwright.errors import InputError
from rillwright.exchange.weather.mend import mended
from rillwright.exchange.weather.tables import is_normals, read_daily

__all__ = ["with_later_days"]

NEXT_SEASON = 31  # [days] between the kept ones and a later year's, from which on these begin a season; judgement


def with_later_days(kept: Path | None, later: Path) -> bytes:
    """The table to keep: the kept one with the later one's days, which stand where both tell a day.

    A table of a later year that begins over NEXT_SEASON after the kept one takes its place whole; so does one of
    other columns that leaves out none of the kept one's days. Errors: TableError and InputError for what is no table of
    days, or does not join the kept one.
    """
    if later.suffix.lower() != ".csv" or is_normals(later):
        raise InputError(
            f"{later.name}: this season's weather is a .csv of days: months and usual years tell no season"
        )
    new = mended(read_daily(later)).days
    if kept is None:
        return later.read_bytes()
    old = mended(read_daily(kept)).days
    day = np.timedelta64(1, "D")
    if new[0] - old[-1] > NEXT_SEASON * day and new[0].astype("datetime64[Y]") > old[-1].astype("datetime64[Y]"):
        return later.read_bytes()
    if new[0] - old[-1] > day or old[0] - new[-1] > day:
        raise InputError(
            f"{later.name} holds {new[0]} to {new[-1]}, and what is kept {old[0]} to {old[-1]}: give the days between "
            "them too, or leave out what is kept first"
        )
    header, lines = _lines(kept)
    columns, added = _lines(later)
    if sorted(columns) != sorted(header):
        if new[0] <= old[0] and old[-1] <= new[-1]:
            return later.read_bytes()
        raise InputError(
            f"{later.name} has the columns {', '.join(columns)}, and what is kept has {', '.join(header)}: give the "
            "same columns, or all days of the season"
        )
    out = io.StringIO()
    writer = csv.DictWriter(out, header, lineterminator="\n")
    writer.writeheader()
    writer.writerows(line for _, line in sorted((lines | added).items()))
    return out.getvalue().encode()


def _lines(path: Path) -> tuple[tuple[str, ...], dict[str, Mapping[str, str]]]:
    """Header of a table of days, and its lines by date."""
    rows = user_rows(path)
    return tuple(rows[0].cells), {row.cells["date"]: row.cells for row in rows}
