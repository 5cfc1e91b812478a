"""A field log as a file of JSON lines: one entry a line, never changed, each on the disk before it is said to be kept.

A line is written whole under a lock, then forced to the disk (fsync). A program that is killed, or a machine that loses
its power, can leave at most one line without its end: nobody was told that it is kept. Reading leaves it out; the next
writing moves it into a file beside the log, so that nothing that was typed is lost.
"""

import contextlib
import json
import os
import uuid
from collections.abc import Iterator, Sequence
from pathlib import Path

from pydantic import ValidationError

from rillwright.errors import InputError
from rillwright.exchange.yard_problems import allowed
from rillwright.model.field_log import Entry, standing

__all__ = ["append_entries", "load_log", "log_lines", "read_log"]

try:
    import fcntl
except ImportError:  # a system without it has one writer at a time
    fcntl = None  # type: ignore[assignment]


def load_log(path: Path) -> list[Entry]:
    """Read what counts of a log, corrections applied; bare numbers are SI, texts carry their unit.

    Errors: InputError that names the line and what is wrong there.
    """
    entries, rest = read_log(path)
    if rest and not entries:
        _entry(path, 1, rest)
    if not entries:
        raise InputError(f"{path} holds no entries: write one JSON entry a line, or use `rillwright log add`.")
    return standing(entries)


def read_log(path: Path) -> tuple[list[Entry], str]:
    """Every entry of a log in its order, corrections as they were written, and a last line cut off in its writing.

    Errors: as of load_log.
    """
    whole, rest = _split(_bytes_of(path))
    return list(_entries(path, whole).values()), rest.decode(errors="replace")


def log_lines(entries: Sequence[Entry]) -> bytes:
    """Entries as the lines of a log file."""
    return "".join(entry.model_dump_json(exclude_defaults=True) + "\n" for entry in entries).encode()


def append_entries(path: Path, entries: Sequence[Entry]) -> str:
    """Write entries at the end of a log, made when it is missing; when this returns they are on the disk.

    Returns: where the broken end of an earlier writing was put, in words; empty when there was none. Errors: InputError
    when the file cannot be written, holds an entry with one of these ids, or lacks the entry that is put right.
    """
    try:
        with _locked(path) as log:
            before = _bytes_of(path)
            whole, rest = _split(before)
            told = _put_aside(path, rest) if rest else ""
            _check(path, whole, entries)
            if rest:
                os.ftruncate(log, len(whole))
            start = b"" if not whole or whole.endswith(b"\n") else b"\n"
            try:
                _write_all(log, start + log_lines(entries))
            except OSError:
                os.ftruncate(log, len(whole))  # the disk is full, perhaps
                raise
    except OSError as error:
        raise InputError(f"{path} cannot be written: {error.strerror}.") from None
    return told


@contextlib.contextmanager
def _locked(path: Path) -> Iterator[int]:
    new = not path.exists()
    log = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o644)
    try:
        if fcntl is not None:
            fcntl.flock(log, fcntl.LOCK_EX)
        yield log
        os.fsync(log)
        if new:
            _sync_folder(path.parent)
    finally:
        if new and os.fstat(log).st_size == 0:
            path.unlink(missing_ok=True)
        os.close(log)


def _sync_folder(folder: Path) -> None:
    """Put a new file's name on the disk too, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _write_all(log: int, data: bytes) -> None:
    while data:
        data = data[os.write(log, data) :]


def _split(data: bytes) -> tuple[bytes, bytes]:
    """Whole lines, and a last line without its end that is no entry."""
    head, end, tail = data.rpartition(b"\n")
    if not tail.strip():
        return data, b""
    try:
        json.loads(tail)
    except ValueError:
        return head + end, tail
    return data, b""


def _put_aside(path: Path, rest: bytes) -> str:
    aside = path.with_name(path.name + ".broken")
    with aside.open("ab") as file:
        file.write(rest + b"\n")
        file.flush()
        os.fsync(file.fileno())
    return f"The last line of {path} had no end and is no entry: it was moved to {aside}."


def _check(path: Path, whole: bytes, entries: Sequence[Entry]) -> None:
    here = _entries(path, whole)
    for entry in entries:
        if entry.id in here:
            raise InputError(f"{path} holds an entry {entry.id} already: give this one an id of its own.")
        first = here.get(entry.corrects) if entry.corrects is not None else None
        if entry.corrects is not None and first is None:
            raise InputError(f"{path} has no entry {entry.corrects} to put right.")
        if first is not None and first.corrects is not None:
            raise InputError(f"{first.id} puts another right itself: correct the first one, {first.corrects}.")
        if entry.withdraws and entry.corrects is None:
            raise InputError("Only a correction withdraws: name the entry in 'corrects'.")
        here[entry.id] = entry


def _bytes_of(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror}.") from None


def _entries(path: Path, data: bytes) -> dict[uuid.UUID, Entry]:
    """Entries by id; one that stands there twice counts once."""
    try:
        lines = data.decode().split("\n")  # a text may hold other ends of lines
    except UnicodeDecodeError:
        raise InputError(f"{path} is not text in UTF-8: save it as JSON lines, one entry a line.") from None
    found = (_entry(path, number, line) for number, line in enumerate(lines, start=1) if line.strip())
    return {entry.id: entry for entry in found}


def _entry(path: Path, number: int, line: str) -> Entry:
    try:
        return Entry.model_validate(json.loads(line))
    except json.JSONDecodeError as error:
        raise InputError(f"{path}, line {number}, column {error.colno}: no JSON there ({error.msg}).") from None
    except ValidationError as error:
        told = "; ".join(f"{'.'.join(map(str, one['loc'])) or 'entry'}: {allowed(one)}" for one in error.errors()[:3])
        raise InputError(f"{path}, line {number}: {told}.") from None
