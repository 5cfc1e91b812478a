"""JSON documents as users send them: any object, so that drafts can be kept, but nothing that JSON cannot hold."""

import math
from typing import Annotated, Any

from pydantic import AfterValidator

from rillwright.errors import InputError

__all__ = ["JsonObject", "checked"]

_DEEPEST = 40
_LARGEST_INTEGER = 2**53  # beyond it a browser's numbers lose digits


def _plain(document: dict[str, Any]) -> dict[str, Any]:
    """Refuse what would not come back as it was sent."""
    waiting: list[tuple[Any, int]] = [(document, 0)]
    while waiting:
        value, depth = waiting.pop()
        if depth > _DEEPEST:
            raise ValueError(f"it is nested more than {_DEEPEST} deep")
        if isinstance(value, dict):
            waiting += [(key, depth) for key in value]
            waiting += [(inner, depth + 1) for inner in value.values()]
        elif isinstance(value, list):
            waiting += [(inner, depth + 1) for inner in value]
        elif isinstance(value, str):
            if any("\ud800" <= letter <= "\udfff" for letter in value):
                raise ValueError("a text holds half a character")
        elif isinstance(value, float) and not math.isfinite(value):
            raise ValueError("a number is not finite")
        elif isinstance(value, int) and abs(value) > _LARGEST_INTEGER:
            raise ValueError("a whole number is too large")
    return document


JsonObject = Annotated[dict[str, Any], AfterValidator(_plain)]


def checked(document: dict[str, Any]) -> dict[str, Any]:
    """The same for a document that was read from a file. Errors: InputError."""
    try:
        return _plain(document)
    except ValueError as error:
        raise InputError(f"The file cannot be kept as it is: {error}.") from None
