"""Field types that read and write quantities in the document's own units and hold SI.

A bare number is in the document's unit system (validation context key 'units'); a text carries its own unit.
Without a context, as when code builds a model, numbers are SI. A value read from a document is held as 12 digits
of the document's unit, and written so, so that reading, writing and reading again never moves it.
"""

import math
from typing import Annotated, Any

from pydantic import BeforeValidator, PlainSerializer, SerializationInfo, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from rillwright.errors import UnitError
from rillwright.physics import units

__all__ = [
    "XY",
    "AirTemperature",
    "Angle",
    "Area",
    "Bore",
    "Coordinate",
    "Count",
    "Current",
    "Depth",
    "Duration",
    "Flow",
    "Height",
    "Hours",
    "Length",
    "Load",
    "Minutes",
    "Money",
    "Pressure",
    "Rain",
    "Rate",
    "Share",
    "Speed",
    "Temperature",
    "Velocity",
    "Volume",
    "quantity",
]


def _system(info: ValidationInfo | SerializationInfo) -> units.System | None:
    context: Any = info.context
    return context.get("units") if isinstance(context, dict) else None


def _shown(value: float, dimension: str, system: units.System | None) -> str:
    if system is None:  # of a text with its own unit, or of code
        us, metric = (_shown(value, dimension, one) for one in ("US", "metric"))
        return us if us == metric else f"{us} ({metric})"
    return f"{units.to_system(value, dimension, system):.6g} {units.unit_name(dimension, system)}".strip()


def _rounded(value: float) -> float:
    return float(f"{value:.12g}")


def _outside(number: float, low: float, high: float, *, above: bool) -> tuple[str, float] | None:
    """Say which limit a number breaks, with a slack for the rounding of unit conversion."""
    slack = 1e-9 * max(1.0, abs(number))
    if number < low - slack or (above and number <= low):
        return ("more than" if above else "at least"), low
    return ("at most", high) if number > high + slack else None


def quantity(
    dimension: str, *, low: float = -math.inf, high: float = math.inf, above: bool = False
) -> tuple[BeforeValidator, PlainSerializer, WithJsonSchema]:
    """Make the annotations of a quantity field.

    Parameters: dimension, a key of units.DIMENSIONS; low and high, limits [SI]; above, when the low limit itself
    is not allowed. The messages print the limits in the document's own units.
    """
    spec = units.DIMENSIONS[dimension]
    typed = any(unit.name for unit in spec.typed)
    wanted = "write a number, or a text with a unit" if typed else "write a plain number"
    schema: dict[str, Any] = {"type": "number"}
    if typed:
        hint = f"number in {spec.us.name} (US) or {spec.metric.name} (metric), or text with a unit"
        schema = {"anyOf": [{"type": "number"}, {"type": "string"}], "description": hint}

    def read(value: Any, info: ValidationInfo) -> float:
        system = _system(info)
        if isinstance(value, bool) or not isinstance(value, (int, float, str) if typed else (int, float)):
            raise PydanticCustomError("quantity", wanted)
        try:
            if isinstance(value, str):
                number = units.parse(value, dimension)
            else:
                number = units.from_system(float(value), dimension, system) if system else float(value)
        except UnitError as error:
            raise PydanticCustomError("unit", "{message}", {"message": str(error)}) from None
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise PydanticCustomError("quantity", "write a finite number")
        if system:
            number = units.from_system(_rounded(units.to_system(number, dimension, system)), dimension, system)
        fault = _outside(number, low, high, above=above)
        if fault:
            word, limit = fault
            message = f"{word} {_shown(limit, dimension, system)}"
            raise PydanticCustomError("quantity", "must be {message}", {"message": message})
        return number

    def write(value: float, info: SerializationInfo) -> float:
        system = _system(info)
        if system is None:
            return value
        return _rounded(units.to_system(value, dimension, system))

    return BeforeValidator(read), PlainSerializer(write), WithJsonSchema(schema)


Coordinate = Annotated[float, *quantity("length", low=-20_000, high=20_000)]
Height = Annotated[float, *quantity("length", low=-500, high=9_000)]
Length = Annotated[float, *quantity("length", low=0, high=20_000)]
Bore = Annotated[float, *quantity("bore", low=0, high=1.0, above=True)]
Pressure = Annotated[float, *quantity("pressure", low=0, high=2e6)]
Flow = Annotated[float, *quantity("flow", low=0, high=0.05)]
Volume = Annotated[float, *quantity("volume", low=0, high=50.0, above=True)]
Depth = Annotated[float, *quantity("depth", low=0, high=1.0, above=True)]
Duration = Annotated[float, *quantity("time", low=0, high=1e6)]
Minutes = Annotated[float, *quantity("minutes", low=60, high=24 * 3600)]
Rain = Annotated[float, *quantity("depth", low=0, high=2.0)]
AirTemperature = Annotated[float, *quantity("temperature", low=183.15, high=333.15)]
Hours = Annotated[float, *quantity("hours", low=0, high=24 * 3600, above=True)]
Velocity = Annotated[float, *quantity("velocity", low=0, high=10.0, above=True)]
Speed = Annotated[float, *quantity("wind", low=0, high=40.0)]
Temperature = Annotated[float, *quantity("temperature", low=273.15, high=313.15)]
Rate = Annotated[float, *quantity("rate", low=0, high=1e-4)]
Area = Annotated[float, *quantity("area", low=0, high=1e8)]
Current = Annotated[float, *quantity("current", low=0, high=2.0, above=True)]
Load = Annotated[float, *quantity("load", low=0, high=1000.0, above=True)]
Share = Annotated[float, *quantity("number", low=0, high=1)]
Angle = Annotated[float, *quantity("number", low=-360, high=360)]
Money = Annotated[float, *quantity("number", low=0, high=1e9)]
Count = Annotated[int, WithJsonSchema({"type": "integer", "minimum": 0})]
XY = tuple[Coordinate, Coordinate]
