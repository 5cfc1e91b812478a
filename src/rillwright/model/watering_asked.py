"""What is asked of a watering programme besides: what a change would save, and where this season stands. SI."""

from datetime import date

from pydantic import BaseModel, ConfigDict

__all__ = ["SoFar", "WhatIf"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class WhatIf(_Frozen):
    """One change and the least water of a season under it."""

    what: str
    water: float  # [m³] a season, mean, before whole minutes
    saved: float  # [m³] against the yard as it is
    cost: float | None  # [currency] that the water adds to a season's bills; None without a tariff
    nights: float  # planned a season
    holds: float  # [m] of water that turf can reach
    why: str


class SoFar(_Frozen):
    """Where the season stands."""

    day: date  # the last of the weather
    lacking: float  # [m] on the driest ground that is kept, at its end
    limit: float  # [m]
    need: float  # [m] of the last days
    usual: float  # [m] of as many usual days of the month
    days: int  # of the last days
    night: date | None  # the next planned one; None when the season is over
    percent: float  # of its month's minutes that it needs
    short: float  # [m] that the ground which asks for most would pass its limit by without that night
    given: float  # [m] that the month's minutes put on there
    by_hand: tuple[str, float] | None  # zone that no night ahead gives water its ground lacks, and its run [s]
