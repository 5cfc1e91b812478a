"""The kinds of things that a yard document names, and the form of its ids and outlines."""

from typing import Annotated, Literal

from pydantic import Field

from rillwright.model.quantities import XY
from rillwright.physics.units import GPM

__all__ = [
    "AREA_KINDS",
    "BACKFLOW_KINDS",
    "HEAD_CLASSES",
    "HOUSE_FLOWS",
    "PIPE_MATERIALS",
    "Aim",
    "AreaKind",
    "BackflowKind",
    "CheckValves",
    "DeviceSize",
    "HeadClass",
    "HouseUse",
    "Id",
    "MainLayout",
    "PipeMaterial",
    "RegulationPlace",
    "Ring",
    "Unions",
    "ValveKind",
]

AreaKind = Literal["lawn", "bed", "building", "paving", "water", "keep-out", "roots"]
Aim = Literal["fewest heads", "balanced", "most even"]
HeadClass = Literal["spray", "rotary", "small rotor", "mid rotor", "strip"]
BackflowKind = Literal["atmospheric vacuum breaker", "pressure vacuum breaker", "reduced pressure zone", "double check"]
Unions = Literal["both sides", "outlet", "none"]
ValveKind = Literal["in-line valve", "valve with vacuum breaker"]
CheckValves = Literal["where needed", "none"]
RegulationPlace = Literal["source", "valve", "head"]
MainLayout = Literal["branched", "looped", "cheapest"]
HouseUse = Literal["nothing", "a tap", "a shower"]
PipeMaterial = Literal["PE", "PVC schedule 40", "PVC SDR-21", "PEX", "copper L", "copper M"]

AREA_KINDS: tuple[AreaKind, ...] = ("lawn", "bed", "building", "paving", "water", "keep-out", "roots")
HEAD_CLASSES: tuple[HeadClass, ...] = ("spray", "rotary", "small rotor", "mid rotor", "strip")
DeviceSize = Literal["1 in", "1-1/4 in", "1-1/2 in", "2 in"]
BACKFLOW_KINDS: tuple[BackflowKind, ...] = (
    "atmospheric vacuum breaker",
    "pressure vacuum breaker",
    "reduced pressure zone",
    "double check",
)
HOUSE_FLOWS: dict[HouseUse, float] = {  # [m³/s] the most that US law lets each pass: EPAct 1992, from memory
    "nothing": 0.0,
    "a tap": 2.2 * GPM,
    "a shower": 2.5 * GPM,
}
PIPE_MATERIALS: tuple[PipeMaterial, ...] = ("PE", "PVC schedule 40", "PVC SDR-21", "PEX", "copper L", "copper M")

Id = Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[A-Za-z0-9][A-Za-z0-9 _.\-]*$")]
Ring = Annotated[list[XY], Field(min_length=3, max_length=5000)]
