"""About the program: whether it runs, its units and schema."""

from typing import Any, Literal

from fastapi import APIRouter
from pydantic import BaseModel

from rillwright import __version__
from rillwright.exchange.yard_file import yard_schema
from rillwright.model.field_log import Entry
from rillwright.physics.units import DIMENSIONS

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["about"])


class Health(BaseModel):
    """Whether the program runs, and which it is."""

    status: Literal["ok"] = "ok"
    version: str = __version__


class UnitOut(BaseModel):
    """A unit: value in SI = value · factor + offset."""

    name: str
    factor: float
    offset: float
    decimals: int  # that a person needs


class DimensionOut(BaseModel):
    """The units of one kind of quantity."""

    us: UnitOut
    metric: UnitOut
    typed: list[str]  # unit names that may follow a number in a text


@router.get("/health")
def health() -> Health:
    """Whether the program runs."""
    return Health()


@router.get("/units")
def units() -> dict[str, DimensionOut]:
    """Units by dimension, as yards and plans name them; SI inside, these at the edge."""
    return {
        name: DimensionOut(
            us=UnitOut(name=d.us.name, factor=d.us.factor, offset=d.us.offset, decimals=d.us_decimals),
            metric=UnitOut(
                name=d.metric.name, factor=d.metric.factor, offset=d.metric.offset, decimals=d.metric_decimals
            ),
            typed=[unit.name for unit in d.typed if unit.name],
        )
        for name, d in DIMENSIONS.items()
    }


@router.get("/schema/yard")
def schema() -> dict[str, Any]:
    """JSON Schema of the yard document."""
    return yard_schema()


@router.get("/schema/entry")
def entry_schema() -> dict[str, Any]:
    """JSON Schema of an entry of the field log."""
    return Entry.model_json_schema()
