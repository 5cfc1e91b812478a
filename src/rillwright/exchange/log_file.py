"""A field log as a file of JSON lines: one entry a line, as the store hands them out."""

import json
from pathlib import Path

from pydantic import ValidationError

from rillwright.errors import InputError
from rillwright.model.field_log import Entry, standing

__all__ = ["load_log"]


def load_log(path: Path) -> list[Entry]:
    """Read what counts of a log, corrections applied; bare numbers are SI, texts carry their unit.

    Errors: InputError that names the line and what is wrong there.
    """
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise InputError(f"{path} is not text in UTF-8: save it as JSON lines, one entry a line.") from None
    entries = [_entry(path, number, line) for number, line in enumerate(lines, start=1) if line.strip()]
    if not entries:
        raise InputError(f"{path} holds no entries: write one JSON entry a line.")
    return standing(entries)


def _entry(path: Path, number: int, line: str) -> Entry:
    try:
        return Entry.model_validate(json.loads(line))
    except json.JSONDecodeError as error:
        raise InputError(f"{path}, line {number}, column {error.colno}: no JSON there ({error.msg}).") from None
    except ValidationError as error:
        told = "; ".join(f"{'.'.join(map(str, one['loc'])) or 'entry'}: {one['msg']}" for one in error.errors()[:3])
        raise InputError(f"{path}, line {number}: {told}.") from None
