"""An entry of the field log as typed on a command line: FIELD=VALUE, by the fields of its kind."""

import difflib
import json
import uuid
from collections.abc import Mapping, Sequence
from datetime import datetime
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from rillwright.errors import InputError
from rillwright.exchange.yard_problems import allowed
from rillwright.model.field_log import Entry, SupplyTest, Written
from rillwright.model.quantities import XY
from rillwright.model.site import Measurement
from rillwright.physics.units import System

__all__ = ["KINDS", "described", "made_entry", "new_entry", "typed_time", "typed_what"]

Json = Any


def _by_kind(union: Any) -> dict[str, type[BaseModel]]:
    models = get_args(get_args(union)[0])
    return {get_args(model.model_fields["kind"].annotation)[0]: model for model in models}


_TESTS = _by_kind(Measurement)
_KINDS = {kind: model for kind, model in _by_kind(Written).items() if model is not SupplyTest}
KINDS = (*_TESTS, *_KINDS)


def described(kind: str) -> str:
    """The fields of a kind, in a line."""
    fields = {name: field for name, field in _fields(kind).items() if name not in ("kind", "measurement")}
    return ", ".join(f"{name}=..." if field.is_required() else f"[{name}=...]" for name, field in fields.items())


def typed_what(
    kind: str, words: Sequence[str], *, system: System | None, before: Mapping[str, Json] | None = None
) -> Json:
    """The `what` of an entry, as JSON with numbers in a system's units.

    Parameters: kind; words, each FIELD=VALUE; system of bare numbers, None when every number needs its unit; before,
    the `what` that these words put right. Errors: InputError for a kind, field or value that cannot be.
    """
    if kind not in KINDS:
        near = difflib.get_close_matches(kind, KINDS, n=3) or KINDS
        raise InputError(f"'{kind}' is no kind of entry: write one of {', '.join(near)}")
    given = {} if before is None else dict(before)
    test = dict(given.pop("measurement", {}))
    fields, inner = _fields(kind), _TESTS[kind].model_fields if kind in _TESTS else {}
    for word in words:
        name, sign, text = word.partition("=")
        name = name.strip().replace("-", "_")
        if not sign or name not in fields or name in ("kind", "measurement"):
            raise InputError(f"'{word}': of a {kind} write {described(kind)}")
        model = _TESTS[kind] if name in inner else (SupplyTest if kind in _TESTS else _KINDS[kind])
        value = _value(text.strip(), fields[name].annotation, unit=_has_unit(model, name), system=system, where=word)
        (test if name in inner else given)[name] = value
    if kind in _TESTS:
        return given | {"kind": "supply test", "measurement": test | {"kind": kind}}
    return given | {"kind": kind}


def made_entry(given: Mapping[str, Json], *, system: System | None) -> Entry:
    """An entry of what was typed. Errors: InputError that names the field."""
    try:
        return Entry.model_validate(dict(given), context={"units": system})
    except ValidationError as error:
        told = "; ".join(f"{_place(one['loc'])}: {allowed(one)}" for one in error.errors()[:4])
        raise InputError(f"{told}.") from None


def new_entry(what: Json, *, words: str, at: str, made: str) -> dict[str, Json]:
    """An entry to be, under an id of its own.

    Parameters: at, 'X,Y'; made, a day or a time, now when empty. Errors: InputError.
    """
    when = typed_time(made) if made else datetime.now().astimezone()
    given = {"id": str(uuid.uuid4()), "made": when.isoformat(timespec="seconds"), "what": what, "words": words}
    return given | ({"at": [_number(part, False, None, at) for part in _parts(at, ",", f"--at {at}", 2)]} if at else {})


def typed_time(made: str) -> datetime:
    """A day or a time, by the clock of this machine. Errors: InputError."""
    try:
        when = datetime.fromisoformat(made)
    except ValueError:
        raise InputError(f"--made {made}: write a day as 2027-05-08, or a time as 2027-05-08T14:30") from None
    return when if when.tzinfo else when.astimezone()


def _place(loc: Sequence[int | str]) -> str:
    plain = [str(step) for step in loc if step not in ("what", "measurement") and step not in KINDS]
    return ".".join(step for step in plain if step != "supply test") or "entry"


def _fields(kind: str) -> dict[str, Any]:
    if kind in _TESTS:
        return {**SupplyTest.model_fields, **_TESTS[kind].model_fields}
    return dict(_KINDS[kind].model_fields)


def _has_unit(model: type[BaseModel], name: str) -> bool:
    return "text with a unit" in json.dumps(model.model_json_schema()["properties"][name])


def _value(text: str, kind: Any, *, unit: bool, system: System | None, where: str) -> Json:
    """A value by the type of its field; what begins as JSON is taken as it is."""
    if text[:1] in ("[", "{"):
        try:
            return json.loads(text)
        except json.JSONDecodeError as error:
            raise InputError(f"'{where}': no JSON there ({error.msg})") from None
    kinds = _alternatives(kind)
    lists = [get_args(one)[0] for one in kinds if get_origin(one) is list]
    if lists:
        return _list(text, lists[0], unit=unit, system=system, where=where)
    if XY in kinds:
        return [_number(part, True, system, where) for part in _parts(text, ",", where, exactly=2)]
    if bool in kinds:
        return _yes(text, where)
    if str in kinds or any(get_origin(one) is Literal and isinstance(get_args(one)[0], str) for one in kinds):
        return text
    return _number(text, unit, system, where)


def _list(text: str, item: Any, *, unit: bool, system: System | None, where: str) -> Json:
    plain = _alternatives(item)
    models = [one for one in plain if isinstance(one, type) and issubclass(one, BaseModel)]
    if XY in plain or models:
        rows = [row.strip() for row in text.split(";") if row.strip()]
        if XY in plain:
            return [_value(row, XY, unit=True, system=system, where=where) for row in rows]
        return [_row(row, models[0], system=system, where=where) for row in rows]
    return [_value(part, item, unit=unit, system=system, where=where) for part in _parts(text, ",", where)]


def _row(text: str, model: type[BaseModel], *, system: System | None, where: str) -> Json:
    """One of several things alike: its values in the order of their fields, commas between; empty ones left out."""
    parts, found = [part.strip() for part in text.split(",")], {}
    for name, field in model.model_fields.items():
        wide = 2 if XY in _alternatives(field.annotation) else 1
        taken, parts = parts[:wide], parts[wide:]
        if any(taken):
            value = ",".join(taken)
            unit = _has_unit(model, name)
            found[name] = _value(value, field.annotation, unit=unit, system=system, where=where)
    if parts:
        raise InputError(f"'{where}': '{text}' holds too much: write {', '.join(model.model_fields)}; ';' between")
    return found


def _alternatives(kind: Any) -> list[Any]:
    """The types that a value may have, without wrappings."""
    if get_origin(kind) is Annotated:
        return _alternatives(get_args(kind)[0])
    if get_origin(kind) in (Union, UnionType):
        return [inner for one in get_args(kind) for inner in _alternatives(one)]
    return [kind]


def _parts(text: str, sign: str, where: str, exactly: int | None = None) -> list[str]:
    parts = [part.strip() for part in text.split(sign) if part.strip()]
    if exactly is not None and len(parts) != exactly:
        raise InputError(f"'{where}': write {exactly} values with '{sign}' between")
    return parts


def _number(text: str, unit: bool, system: System | None, where: str) -> Json:
    try:
        number = float(text)
    except ValueError:
        return text  # with its unit, or to be refused by its field
    if unit and system is None and number != 0:
        raise InputError(f"'{where}': write the unit of {text}, or give --plan or --units")
    return int(number) if number.is_integer() and not unit else number


def _yes(text: str, where: str) -> bool:
    if text.lower() in ("yes", "true", "no", "false"):
        return text.lower() in ("yes", "true")
    raise InputError(f"'{where}': write yes or no")
