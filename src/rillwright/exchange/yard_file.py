"""Yard files in JSON: read with errors a person can act on, write in the yard's own units, publish the schema."""

import json
import re
import stat
import textwrap
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from rillwright.errors import InputError, Problem, YardError
from rillwright.exchange.yard_problems import shorten, translate
from rillwright.model.site import YARD_FORMAT, YARD_VERSION, Yard
from rillwright.model.site_rules import check_yard
from rillwright.physics.units import System

__all__ = [
    "LARGEST_FILE",
    "check_file",
    "check_heading",
    "document_text",
    "empty_document",
    "read_json",
    "read_yard",
    "validated",
    "write_text",
    "write_yard",
    "yard_schema",
    "yard_text",
]

LARGEST_FILE = 20_000_000  # [bytes]
MOST_PROBLEMS = 25  # shown at once

_HEADING: dict[str, tuple[tuple[str | int, ...], str]] = {
    "format": ((YARD_FORMAT,), f'Write "format": "{YARD_FORMAT}"'),
    "version": ((YARD_VERSION,), f'This program reads "version": {YARD_VERSION}; a newer file needs a newer program'),
    "units": (("US", "metric"), 'Write "units": "US" (ft, psi, gpm) or "units": "metric" (m, kPa, L/min)'),
}
_NUMBERS = re.compile(r"\[\n\s+((?:-?[\d.eE+-]+,?\s*)+)\n\s*\]")
_POINTS = re.compile(r"^( +)([^\n]*)\[\n +(\[[^][\n]*\](?:,\n +\[[^][\n]*\])*)\n +\]", re.MULTILINE)
_WORD = re.compile(r'"(?:[^"\\]|\\.)*"|-?Infinity|NaN')


def read_yard(path: Path) -> Yard:
    """Read a yard file.

    Errors: YardError when it breaks a rule; InputError when it cannot be read at all. Files over LARGEST_FILE are
    refused.
    """
    return validated(read_json(path), source=path.name)


def yard_text(yard: Yard) -> str:
    """Give a yard as JSON text in its own units; what was left to its default stays left out."""
    data = yard.model_dump(mode="json", exclude_unset=True, context={"units": yard.units})
    return document_text({"format": yard.format, "version": yard.version} | data)


def document_text(document: Mapping[str, Any]) -> str:
    """Give a yard document as JSON text as it stands, also one that breaks rules still."""
    text = json.dumps(_plain(dict(document)), indent=2, ensure_ascii=False)
    text = _NUMBERS.sub(lambda found: f"[{' '.join(found[1].split())}]", text)
    return _POINTS.sub(_filled, text) + "\n"


def empty_document(name: str, units: System) -> dict[str, Any]:
    """A yard document with nothing in it but its heading: a draft until its owner has said more."""
    return {"format": YARD_FORMAT, "version": YARD_VERSION, "name": name, "units": units, "areas": []}


def write_yard(yard: Yard, path: Path, *, overwrite: bool = False) -> None:
    """Write a yard file; see `write_text`."""
    write_text(yard_text(yard), path, overwrite=overwrite)


def write_text(text: str, path: Path, *, overwrite: bool = False) -> None:
    """Write a text file as UTF-8; an existing file is kept unless overwriting is asked for.

    Errors: InputError when the file exists or cannot be written.
    """
    try:
        with path.open("w" if overwrite else "x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise InputError(f"{path} exists and is kept: choose another name, or ask to overwrite it") from None
    except OSError as error:
        raise InputError(f"{path} cannot be written: {error.strerror}") from None


@cache
def yard_schema() -> dict[str, Any]:
    """Give the JSON Schema (draft 2020-12) of a yard file."""
    schema = Yard.model_json_schema(mode="validation")
    needed = ["format", "version", *schema["required"]]
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Rillwright yard, version 1"}
    return head | {key: value for key, value in schema.items() if key != "title"} | {"required": needed}


def read_json(path: Path) -> dict[str, Any]:
    """Read a JSON file whose top is an object. Numbers must be finite and no key may come twice.

    Errors: InputError that names the file and, where there is one, line and column.
    """
    text = _text(path)
    try:
        data = json.loads(text, parse_constant=_refuse_constant, object_pairs_hook=_once)
    except json.JSONDecodeError as error:
        raise _bad_json(path, f"line {error.lineno}, column {error.colno}: {error.msg}") from None
    except RecursionError:
        raise _bad_json(path, "it is nested too deep") from None
    except _RefusedError as error:
        raise _bad_json(path, f"{_where(text, error.word)}{error}") from None
    except ValueError:
        raise _bad_json(path, "a number has too many digits") from None
    if not isinstance(data, dict):
        raise _bad_json(path, f"it holds {shorten(data)}, not an object in braces {{ }}")
    return data


def validated(data: Mapping[str, Any], *, source: str, places: Mapping[str, str] | None = None) -> Yard:
    """Make a yard from a document and check every rule.

    Parameters: data; source, the name for messages; places, for a document that was gathered from another file, the
    place there of each path here, such as {'areas[2]': 'features[5]'}.
    Errors: YardError with one problem for each broken rule.
    """
    check_heading(data, source=source)
    try:
        yard = Yard.model_validate(data, context={"units": data["units"]})
        problems = check_yard(yard)
    except ValidationError as error:
        problems = translate(error, data, yard_schema())
    if problems:
        moved = [Problem(_moved(p.path, places or {}), p.value, p.allowed) for p in problems]
        raise YardError(source, _capped(moved))
    return yard


def _plain(value: Any) -> Any:
    """Write whole numbers without a point."""
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_plain(inner) for inner in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _filled(found: re.Match[str]) -> str:
    """Put as many points on a line as fit."""
    indent, key, points = found.groups()
    unbroken = " ".join(points.split()).replace(", ", ",~").replace("],~[", "], [")
    lines = textwrap.wrap(unbroken, width=100, break_long_words=False, break_on_hyphens=False)
    joined = f"\n{indent}  ".join(lines).replace("~", " ")
    return f"{indent}{key}[\n{indent}  {joined}\n{indent}]"


def check_heading(data: Mapping[str, Any], *, source: str) -> None:
    """Check what must be known before anything else can be read: format, version, units.

    Errors: YardError with the first that is missing or unknown.
    """
    for key, (allowed, do) in _HEADING.items():
        value = data.get(key)
        if type(value) not in (str, int) or value not in allowed:
            raise YardError(source, (Problem(key, shorten(value) if key in data else "missing", do),))


def check_file(path: Path) -> None:
    """Refuse what cannot be read, is no file, or is larger than LARGEST_FILE.

    Errors: InputError.
    """
    try:
        state = path.stat()
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror}") from None
    if not stat.S_ISREG(state.st_mode):
        raise InputError(f"{path} cannot be read: it is not a file")
    if state.st_size > LARGEST_FILE:
        do = "Simplify the outlines, or remove what is not needed."
        raise InputError(f"{path} is {state.st_size / 1e6:.1f} MB; at most {LARGEST_FILE / 1e6:.0f} MB is read. {do}")


def _text(path: Path) -> str:
    check_file(path)
    try:
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror}") from None
    except UnicodeDecodeError as error:
        raise InputError(f"{path} is not UTF-8 text: byte {error.start} cannot be read. Save it as UTF-8.") from None


class _RefusedError(ValueError):
    """Something that JSON readers let pass and this one does not."""

    def __init__(self, what: str, word: str = "") -> None:
        super().__init__(what)
        self.word = word  # as it stands in the file


def _refuse_constant(name: str) -> float:
    raise _RefusedError(f"{name} is not a number: write a finite number", name)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    data = dict(pairs)
    if len(data) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise _RefusedError(f"the key {shorten(twice)} comes twice in one object: keep one")
    return data


def _where(text: str, word: str) -> str:
    """Line and column of a bare word, outside quotes."""
    for found in _WORD.finditer(text):
        if found[0] == word:
            before = text[: found.start()]
            return f"line {before.count(chr(10)) + 1}, column {found.start() - before.rfind(chr(10))}: "
    return ""


def _bad_json(path: Path, what: str) -> InputError:
    return InputError(f"{path.name} is not a JSON document that can be used: {what}")


def _moved(path: str, places: Mapping[str, str]) -> str:
    for prefix in sorted(places, key=len, reverse=True):
        if path == prefix or path.startswith((f"{prefix}.", f"{prefix}[")):
            return places[prefix] + path[len(prefix) :]
    return path


def _capped(problems: list[Problem]) -> tuple[Problem, ...]:
    if len(problems) <= MOST_PROBLEMS:
        return tuple(problems)
    rest = Problem("elsewhere", f"{len(problems) - MOST_PROBLEMS} more problems", "Mend those above first")
    return (*problems[:MOST_PROBLEMS], rest)
