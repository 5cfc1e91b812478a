"""Turn the errors of validation into problems that name the place, the value and what may stand there."""

import difflib
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from rillwright.errors import Problem

__all__ = ["allowed", "nearest", "shorten", "translate"]

_WORDS = {
    "string_type": "Write a text in quotes",
    "int_type": "Write a whole number",
    "int_from_float": "Write a whole number",
    "float_type": "Write a number",
    "list_type": "Write a list in brackets [ ]",
    "tuple_type": "Write a point as two numbers [x, y]",
    "model_type": "Write an object in braces {{ }}",
    "model_attributes_type": "Write an object in braces {{ }}",
    "string_too_short": "Write at least {min_length} character",
    "string_too_long": "Write at most {max_length} characters",
    "string_unicode": "Write plain text: it holds half a character",
    "int_parsing": "Write a whole number",
    "float_parsing": "Write a number",
    "bool_type": "Write true or false",
    "greater_than": "Write more than {gt}",
    "greater_than_equal": "Write {ge} or more",
    "less_than_equal": "Write {le} or less",
    "less_than": "Write less than {lt}",
    "missing": "This must be given",
}
_PATTERNS = {
    "currency": "Write three capital letters, such as USD",
    "id": "Use letters, digits, space and _ . - and begin with a letter or digit",
}
_LOCAL = "Coordinates are local, measured from one corner of the lot"


def shorten(value: Any) -> str:
    """Show a value as the file has it, in at most some 60 characters.

    >>> shorten([1, 2, 3])
    'a list of 3'
    """
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return f"an object with {', '.join(shorten(k) for k in list(value)[:3])}" if value else "an empty object"
    text = json.dumps(value, ensure_ascii=True) if isinstance(value, str) else _plain(value)
    return text if len(text) <= 60 else f"{text[:56]}... ({len(text)} characters)"


def _plain(value: Any) -> str:
    try:
        return json.dumps(value)
    except (TypeError, ValueError):
        return f"a value of type {type(value).__name__}"


def nearest(word: Any, known: Iterable[str]) -> str:
    """Suggest the known words that hold an unknown one, or the closest to it, else list them all.

    >>> nearest("lawm", ("lawn", "bed"))
    "Did you mean 'lawn'?"
    >>> nearest("rotor", ("rotary", "small rotor", "mid rotor"))
    "Did you mean 'small rotor' or 'mid rotor'?"
    """
    words = list(known)
    asked = str(word).lower().split()
    holding = [w for w in words if asked and set(asked) <= set(w.lower().split())]
    if holding:
        quoted = "' or '".join(holding)
        return f"Did you mean '{quoted}'?"
    close = difflib.get_close_matches(str(word).lower(), [w.lower() for w in words], n=1)
    if close:
        return f"Did you mean '{next(w for w in words if w.lower() == close[0])}'?"
    return f"Use one of: {', '.join(words)}"


def translate(error: ValidationError, data: Mapping[str, Any], schema: Mapping[str, Any]) -> list[Problem]:
    """List the problems of a document that broke its schema, one for each place."""
    problems: dict[str, Problem] = {}
    for detail in error.errors(include_url=False):
        problem = _problem(detail, data, schema)
        problems.setdefault(problem.path, problem)
    return list(problems.values())


def _problem(detail: ErrorDetails, data: Mapping[str, Any], schema: Mapping[str, Any]) -> Problem:
    kind, ctx = detail["type"], detail.get("ctx", {})
    loc = _without_tags(detail["loc"], data)
    path, value = _path(loc), shorten(detail["input"])
    if kind == "extra_forbidden":
        return Problem(path, f"unknown key {shorten(loc[-1])}", nearest(loc[-1], _keys(detail["loc"][:-1], schema)))
    if (kind == "missing" and isinstance(loc[-1], int)) or (kind == "too_long" and ctx.get("field_type") == "Tuple"):
        point = loc[:-1] if kind == "missing" else loc
        return Problem(_path(point), value, "Write a point as two numbers [x, y]")
    if kind == "missing":
        return Problem(path, "missing", _WORDS[kind])
    if kind.startswith("union_tag"):
        tags = (
            [tag.strip(" '") for tag in str(ctx.get("expected_tags", "")).split(",")]
            if ctx.get("expected_tags")
            else []
        )
        if not tags:
            tags = _tags(detail["loc"], schema)
        said = detail["input"].get("kind", "missing") if isinstance(detail["input"], dict) else None
        return Problem(f"{path}.kind", "missing" if said in (None, "missing") else shorten(said), nearest(said, tags))
    return Problem(path, value, allowed(detail, loc))


def allowed(detail: ErrorDetails, loc: Sequence[int | str] | None = None) -> str:
    """What may stand where validation found an error, in this program's words.

    Parameters: detail, of a validation error; loc, its steps in the document, those of the error when None.
    """
    loc = detail["loc"] if loc is None else loc
    kind, ctx = detail["type"], detail.get("ctx", {})
    if kind in ("quantity", "unit"):
        text = detail["msg"][:1].upper() + detail["msg"][1:]
        local = text.startswith("Must") and any(step in ("outline", "holes", "at") for step in loc)
        return f"{text}. {_LOCAL}" if local else text
    if kind == "literal_error":
        words = [w.strip(" '") for w in str(ctx["expected"]).replace(" or ", ", ").split(",")]
        return nearest(detail["input"], words)
    if kind == "string_pattern_mismatch":
        return _PATTERNS.get(str(loc[-1]), detail["msg"])
    if kind == "too_short":
        return f"At least {ctx['min_length']}" + (" points" if _is_ring(loc) else "")
    if kind == "too_long":
        more = " points: keep only those needed to follow the edge within 0.1 m (4 in)" if _is_ring(loc) else ""
        return f"At most {ctx['max_length']}{more}"
    if kind not in _WORDS:
        return detail["msg"].removeprefix("Value error, ")
    return _WORDS[kind].format(**{key: f"{v:g}" if isinstance(v, float) else v for key, v in ctx.items()})


def _is_ring(loc: Sequence[int | str]) -> bool:
    return loc[-1] == "outline" or (len(loc) > 1 and loc[-2] == "holes")


def _without_tags(loc: Sequence[int | str], data: Any) -> list[int | str]:
    """Drop the steps that are no part of the file: the kinds of a measurement."""
    kept: list[int | str] = []
    here = data
    for n, step in enumerate(loc):
        if isinstance(here, dict) and step not in here and n < len(loc) - 1 and here.get("kind") == step:
            continue
        kept.append(step)
        if isinstance(here, (dict, list)):
            try:
                here = here[step]  # type: ignore[index]
            except (LookupError, TypeError):
                here = None
    return kept


def _path(loc: Sequence[int | str]) -> str:
    text = ""
    for step in loc:
        name = step if isinstance(step, int) or (step.isprintable() and len(step) <= 60) else shorten(step)
        text += f"[{step}]" if isinstance(step, int) else f".{name}" if text else str(name)
    return text or "the document"


def _node(loc: Sequence[int | str], schema: Mapping[str, Any]) -> Mapping[str, Any]:
    """Walk down the schema to the place of an error."""
    node: Mapping[str, Any] = schema
    for step in loc:
        node = _resolved(node, schema)
        if isinstance(step, int):
            node = node.get("items", {})
        elif "discriminator" in node:
            node = {"$ref": node["discriminator"]["mapping"].get(step, "#/$defs/")}
        else:
            node = node.get("properties", {}).get(step, {})
    return _resolved(node, schema)


def _resolved(node: Mapping[str, Any], schema: Mapping[str, Any]) -> Mapping[str, Any]:
    for option in node.get("anyOf", ()):
        if "$ref" in option:
            node = option
    if "$ref" in node:
        found: Mapping[str, Any] = schema["$defs"].get(str(node["$ref"]).removeprefix("#/$defs/"), {})
        return found
    return node


def _keys(loc: Sequence[int | str], schema: Mapping[str, Any]) -> list[str]:
    return list(_node(loc, schema).get("properties", {}))


def _tags(loc: Sequence[int | str], schema: Mapping[str, Any]) -> list[str]:
    return list(_node(loc, schema).get("discriminator", {}).get("mapping", {}))
