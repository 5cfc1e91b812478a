"""A yard document on the way: what is wrong with it, without refusing it."""

from collections.abc import Mapping
from typing import Any

from rillwright.errors import InputError, Problem, YardError
from rillwright.exchange.yard_file import validated
from rillwright.model.existing_rules import check_nozzles
from rillwright.model.parts import Catalogue

__all__ = ["problems_in"]


def problems_in(document: Mapping[str, Any], catalogue: Catalogue) -> tuple[Problem, ...]:
    """Every rule that a document breaks; none when it can be planned."""
    try:
        check_nozzles(validated(document, source="the yard"), catalogue)
    except YardError as error:
        return error.problems
    except InputError as error:
        return (Problem("existing.heads", "a nozzle that is not in the charts", str(error)),)
    return ()
