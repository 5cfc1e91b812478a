"""How sure a plan is: chances and bands from many draws of the whole yard, and what to measure next. SI."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

__all__ = [
    "Band",
    "Certainty",
    "Chance",
    "HeadChance",
    "LawnCertainty",
    "NextMeasurement",
    "Spread",
    "Subject",
    "WindowCertainty",
    "ZoneCertainty",
]


Subject = Literal["supply", "ground", "heads", "week"]  # what a measurement tells of


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Chance(_Frozen):
    """Share of the draws in which something holds, with its sampling error."""

    value: float  # [0..1]
    error: float  # [0..1] standard error, as if the draws were independent; never 0


class Band(_Frozen):
    """Quantiles of the draws."""

    low: float  # 5 %
    median: float
    high: float  # 95 %


class HeadChance(_Frozen):
    """One head in the draws."""

    id: str
    enough: Chance  # at least the least pressure of its chart
    not_too_much: Chance  # at most the greatest, above which spray turns to mist


class ZoneCertainty(_Frozen):
    """One zone in the draws: its flow control set on site, the house drawing water now and then."""

    id: str
    sound: Chance  # that every head is inside the pressure band of its chart
    undisturbed: Chance  # the same, as long as nobody in the house draws water
    flow: Band  # [m³/s]
    worst: Band  # [Pa] at the head with the least pressure
    best: Band  # [Pa] at the head with the most
    open_worst: Band  # [Pa] at the head with the least, flow control wide open and nobody in the house drawing
    precipitation: Band  # [m/s]
    heads: tuple[HeadChance, ...]


class LawnCertainty(_Frozen):
    """One lawn in the draws, each in one of a few winds."""

    id: str
    du: Band  # [0..1] low quarter
    even: Chance  # that it is at least rules.lowest_du


class WindowCertainty(_Frozen):
    """Whether the week's water fits into the hours that may be used."""

    assumed: bool  # the yard does not state its window
    available: float  # [s] a week
    nights: int  # watered in a week
    depth: Band  # [m] that the turf uses up in a week of the peak
    needed: Band  # [s] a week, all zones, pauses for the soil counted where they bind
    zone_needed: dict[str, Band]  # [s] of run time a week, by zone
    suffices: Chance
    ample: float  # [s] a week that would suffice in 9 of 10 draws


class NextMeasurement(_Frozen):
    """One more measurement and how much it would narrow what the plan hangs on."""

    what: str  # in words a person can act on
    of: Subject
    moves: str  # the quantity it narrows most, e.g. 'pressure at H7 (Z2), control open'
    dimension: str  # of that quantity, a key of units.DIMENSIONS
    band_before: float  # width of its 90 % band now
    band_after: float  # expected after measuring
    wrong_before: float  # [0..1] chance that the plan's verdict on pressure or hours is wrong
    wrong_after: float  # expected after measuring


class Spread(_Frozen):
    """What was drawn for one uncertain thing."""

    name: str
    drawn: str  # the distribution, in words and the yard's units
    source: str


class Certainty(_Frozen):
    """What the draws say of the plan."""

    draws: int  # of the whole yard; 0 when the plan has no zones
    zones: tuple[ZoneCertainty, ...] = ()
    lawns: tuple[LawnCertainty, ...] = ()
    sound: Chance | None = None  # that all zones are sound at once
    window: WindowCertainty | None = None
    next_measurements: tuple[NextMeasurement, ...] = ()  # best first
    spreads: tuple[Spread, ...] = ()
