"""The yearly record: readings of each season, what drifts, and what to replace. SI."""

from datetime import date
from typing import Literal

from pydantic import BaseModel, ConfigDict

__all__ = ["KNOWN", "Change", "Reading", "RepairNote", "SeasonSum", "Series", "YearlyRecord"]

KNOWN = 0.9  # chance of holding the slope from which a band is told
Watched = Literal["wear", "static pressure", "head pressure", "evenness", "water used"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Reading(_Frozen):
    """One season's first reading of a thing."""

    season: int
    made: date
    value: float
    error: float  # standard error


class Change(_Frozen):
    """The last season's reading against the one before."""

    by: float
    error: float  # [same] standard error of the change
    told: Literal["no clear change", "more", "less"]


class Series(_Frozen):
    """What one thing read, season by season."""

    watched: Watched
    of: str  # zone, head or 'supply'
    dimension: str  # key of units.DIMENSIONS
    readings: tuple[Reading, ...]  # oldest first
    change: Change | None  # None with one season
    slope: float | None  # a year; None with one season
    low: float | None  # band of the slope
    high: float | None
    held: float  # chance that the band holds it
    limit: float | None  # at which something is to be done; None where none is known
    worse_up: bool  # whether more is worse
    past_limit: bool
    crosses: int | None  # season in which the trend reaches the limit, where it drifts for sure
    verdict: str
    do: str  # empty: nothing


class SeasonSum(_Frozen):
    """One season as a whole."""

    season: int
    entries: int
    water: float | None  # [m³] that the sprinklers used
    water_days: int  # days that it covers
    repairs: int
    repair_cost: float  # [currency]
    drained: date | None
    started: date | None


class RepairNote(_Frozen):
    """Something that was mended more than once, or should be replaced now."""

    of: str
    times: int
    seasons: tuple[int, ...]
    do: str


class YearlyRecord(_Frozen):
    """All of it."""

    seasons: tuple[SeasonSum, ...]
    series: tuple[Series, ...]
    replace: tuple[str, ...]  # what to replace or do, the most pressing first
    repairs: tuple[RepairNote, ...]
    says: tuple[str, ...]
