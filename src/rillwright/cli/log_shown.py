"""A field log on the terminal, and in a file for a spreadsheet."""

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.table import Table

from rillwright.errors import InputError
from rillwright.exchange.log_file import log_lines
from rillwright.model.field_log import Entry, standing
from rillwright.physics.units import System, show, unit_name
from rillwright.report.entry_words import entry_kind, entry_words

__all__ = ["export_log", "print_log"]


def print_log(entries: Sequence[Entry], system: System, *, every: bool) -> None:
    """Print what counts of a log, or every line of it."""
    counting = standing(entries)
    ids = {entry.id for entry in counting}
    table = Table(box=None, pad_edge=False, header_style="dim")
    for column in ("id", "made", "kind", "value", "words"):
        table.add_column(column, no_wrap=column in ("id", "made"))
    for entry in entries if every else counting:
        first = entry.corrects or entry.id
        remarks = [entry.words] if entry.words else []
        if entry.photos:
            remarks.append(f"{len(entry.photos)} photo{'s' if len(entry.photos) > 1 else ''}")
        if entry.withdraws:
            remarks.append("withdraws it")
        elif every and entry.id not in ids:
            remarks.append("no longer counts")
        elif entry.corrects is not None:
            remarks.append("put right")
        remarks += [f"confirmed: {', '.join(entry.confirmed)}"] if entry.confirmed else []
        made = (entry.when or entry.made).strftime("%Y-%m-%d %H:%M")
        table.add_row(str(first)[:8], made, entry_kind(entry), entry_words(entry, system), "; ".join(remarks))
    Console().print(table, markup=False, highlight=False)


def export_log(entries: Sequence[Entry], out: Path, *, system: System, force: bool) -> None:
    """Write entries by the name of the file. Errors: InputError."""
    if out.suffix not in (".csv", ".jsonl"):
        raise InputError(f"{out}: name a .csv or a .jsonl file")
    if out.exists() and not force:
        raise InputError(f"{out} is there already: give another --out, or --force to replace it.")
    data = log_lines(entries) if out.suffix == ".jsonl" else _csv(entries, system)
    try:
        out.write_bytes(data)
    except OSError as error:
        raise InputError(f"{out} cannot be written: {error.strerror}.") from None


def _csv(entries: Sequence[Entry], system: System) -> bytes:
    file = io.StringIO()
    writer = csv.writer(file)
    length = unit_name("length", system)
    head = ("id", "made", "kind", "value", "words", f"across [{length}]", f"up [{length}]", "photos", "confirmed")
    writer.writerow(head)
    for entry in entries:
        place = [show(v, "length", system).split()[0] for v in entry.at] if entry.at else ["", ""]
        made, photos = entry.made.isoformat(), " ".join(map(str, entry.photos))
        value = entry_words(entry, system)
        row = [entry.id, made, entry_kind(entry), value, entry.words, *place, photos, "; ".join(entry.confirmed)]
        writer.writerow([_plain(str(cell)) for cell in row])
    return file.getvalue().encode()


def _plain(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if cell[:1] in ("=", "+", "@") else cell
