"""A new lawn from seed or sod: stages of watering, dates, and when to sow. SI."""

from datetime import date
from typing import Literal

from pydantic import BaseModel, ConfigDict

from rillwright.model.watering import ZoneWater

__all__ = ["LawnEvent", "LawnStage", "NewLawn", "NewLawnKind", "SeedWindow"]

NewLawnKind = Literal["seed", "sod"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class SeedWindow(_Frozen):
    """Days of the year on which sowing does well."""

    first: str  # as 08-14
    last: str
    chance: float  # [0..1] of the years in which its poorest day did


class LawnStage(_Frozen):
    """A stage: how often and how long each zone runs."""

    name: str
    first: date
    last: date
    depth: float  # [m] that reaches the ground at a run
    use: float  # [m] of a mean day
    wanted: float  # [m] that may be used up between two runs
    holds: float  # [m] what the layer that is kept moist holds
    runs: int  # a day
    starts: tuple[str, ...]  # as 09:00, of the first zone
    seconds: dict[str, float]  # [s] by zone, of a run
    advice: str
    source: str


class LawnEvent(_Frozen):
    """Something to do on a day."""

    day: date
    what: str


class NewLawn(_Frozen):
    """The whole course."""

    yard: str
    kind: NewLawnKind
    start: date
    windows: tuple[SeedWindow, ...]
    zones: tuple[ZoneWater, ...]
    stages: tuple[LawnStage, ...]
    events: tuple[LawnEvent, ...]
    notes: tuple[str, ...]
