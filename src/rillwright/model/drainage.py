"""What runs out of a zone's lowest heads when it stops, and the check valves that hold it. SI."""

from pydantic import BaseModel, ConfigDict

__all__ = ["HIGHEST_HOLD", "LARGEST_PUDDLE", "USUAL_HOLD", "CheckedHead", "Drainage"]

LARGEST_PUDDLE = 2e-3  # [m³] that may run out of one head each time its zone stops; judgement, no source
USUAL_HOLD = 2.4  # [m] of water that any check valve of the trade holds, 8 ft (from memory)
HIGHEST_HOLD = 4.3  # [m] that the strongest hold, 14 ft (from memory)


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class CheckedHead(_Frozen):
    """A head with a check valve."""

    head: str
    column: float  # [m] of water that stays over it: what the valve must hold


class Drainage(_Frozen):
    """The water of one zone after it stops."""

    zone: str
    holds: float  # [m³] of laterals and risers, full
    unchecked: float  # [m³] that would run out each time, without check valves
    worst: str | None  # head that would let the most out; None when nothing runs out
    at_worst: float  # [m³] there
    checked: tuple[CheckedHead, ...]  # heads that get check valves
    left: float  # [m³] that runs out each time as planned
    wettest: str | None  # head that lets the most out as planned
    at_wettest: float  # [m³] there
