"""Workings as answers: how a number came about."""

from pydantic import BaseModel

from rillwright.model.plan import Plan
from rillwright.report.workings.working import Working

__all__ = ["GivenOut", "WorkingNote", "WorkingOut", "working_out"]


class WorkingNote(BaseModel):
    """A number that can be explained."""

    key: str
    title: str
    value: float  # SI
    dimension: str
    printed: str  # in the yard's units


class GivenOut(BaseModel):
    """One input of a working."""

    name: str
    value: str  # as printed
    key: str  # of its own working; empty when it has none


class WorkingOut(WorkingNote):
    """How one number came about."""

    formula: str
    inputs: list[GivenOut]
    source: str
    again: float | None  # the number recomputed from the formula, SI; null when a solver or the user gave it


def working_out(working: Working, document: Plan) -> WorkingOut:
    """A working with its value in the yard's units."""
    return WorkingOut(
        key=working.key,
        title=working.title,
        value=working.value,
        dimension=working.dimension,
        printed=working.printed(document),
        formula=working.formula,
        inputs=[GivenOut(name=given.name, value=given.value, key=given.key) for given in working.inputs],
        source=working.source,
        again=working.again,
    )
