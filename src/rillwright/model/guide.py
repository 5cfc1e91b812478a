"""The build guide: the steps that a plan asks for, in order, with times, cautions and dates. SI; times in seconds.

A step is done when its items are ticked. An item is known by what it is and where it lies, not by its name in one
plan: when the yard is planned again, what is done stays ticked wherever the new plan asks for the same thing there.
"""

import math
from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from rillwright.model.growing import WEEKDAYS, Weekday

__all__ = [
    "WEEKDAYS",
    "After",
    "BuildTerms",
    "Caution",
    "DayPart",
    "Digging",
    "Estimate",
    "FinishBand",
    "Guide",
    "Item",
    "PartTaken",
    "Rental",
    "Step",
    "StepTime",
    "Wait",
    "Weekday",
    "Work",
    "WorkDay",
]

Digging = Literal["machine", "hand"]


Point = tuple[float, float]  # [m]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class BuildTerms(_Frozen):
    """Who builds, when and how."""

    start: Annotated[date, Field(ge=date(2000, 1, 1), le=date(2200, 1, 1))]
    days: Annotated[tuple[Weekday, ...], Field(min_length=1)] = ("Sat", "Sun")  # of the week, on which is worked
    hours: Annotated[float, Field(ge=1, le=16)] = 7.0  # [h] of work on such a day, at the most
    crew: Annotated[int, Field(ge=1, le=12)] = 2
    digging: Digging = "machine"
    latitude: Annotated[float, Field(ge=-66, le=66)] | None = None  # [°] when the yard has no origin
    lost_days: Annotated[float, Field(ge=0, le=0.9)] | None = None  # chance that weather takes a day; None: by month


class Estimate(_Frozen):
    """A duration in three points [s]: mean and spread as PERT has them.

    Source: Malcolm, Roseboom, Clark and Fazar, "Application of a technique for research and development program
    evaluation", Operations Research 7 (1959) 646-669, from memory.

    >>> Estimate(low=2, likely=4, high=12).mean, round(Estimate(low=2, likely=4, high=12).deviation, 3)
    (5.0, 1.667)
    """

    low: float
    likely: float
    high: float

    @property
    def mean(self) -> float:
        """Expected duration: (low + 4 likely + high) / 6."""
        return (self.low + 4 * self.likely + self.high) / 6

    @property
    def deviation(self) -> float:
        """Standard deviation: (high - low) / 6."""
        return (self.high - self.low) / 6

    def times(self, factor: float) -> "Estimate":
        """The estimate of so many times the work."""
        return Estimate(low=factor * self.low, likely=factor * self.likely, high=factor * self.high)


class Work(_Frozen):
    """One kind of labour in a step: a quantity times what one of it takes one person."""

    per: str  # 'metre', 'head', 'job' ...
    ground: str  # of digging; empty else
    quantity: float
    each: Estimate  # [s] of one person
    source: str


class Wait(_Frozen):
    """Time that must pass [days]."""

    name: str
    days: Estimate
    why: str
    source: str


class After(_Frozen):
    """A step that must be done before, and what must pass between."""

    step: str
    wait: Wait | None = None


class Caution(_Frozen):
    """What may hurt someone at a step."""

    name: str
    words: str
    source: str


class Item(_Frozen):
    """What is ticked off."""

    key: str = Field(max_length=120)
    words: str
    note: str = ""
    at: Point | None = None  # [m] where on the plan
    name: str = ""  # of what stands there, in this plan


class PartTaken(_Frozen):
    """Parts that a step uses up."""

    part: str
    quantity: float
    unit: Literal["piece", "m"]


class Step(_Frozen):
    """One step of the work."""

    id: str  # kind, and of what: 'lay:Z1'
    kind: str
    title: str
    items: tuple[Item, ...]
    parts: tuple[PartTaken, ...]
    tools: tuple[str, ...]
    work: tuple[Work, ...]
    hands: int  # most people that help at once
    after: tuple[After, ...]
    before: tuple[str, ...]  # what must be true before
    ends: str  # the test that ends it
    weather: str
    cautions: tuple[Caution, ...]
    assumed: tuple[str, ...] = ()  # what the yard does not say
    source: str  # of the words

    def people(self, crew: int) -> int:
        """How many of a crew work at it."""
        return min(crew, self.hands)

    def duration(self, crew: int) -> Estimate:
        """Time on site [s] with so many people: lows, likelies and highs each added up."""
        total = [sum(w.quantity * getattr(w.each, point) for w in self.work) for point in ("low", "likely", "high")]
        return Estimate(low=total[0], likely=total[1], high=total[2]).times(1 / self.people(crew))


class StepTime(_Frozen):
    """When a step is done, when everything takes its mean time and no day is lost."""

    step: str
    done: bool
    share_done: float  # of its items
    left: float  # [s] mean time still to go
    begins: date | None  # None when done
    ends: date | None
    slack: float  # [days] it may slip without moving the finish
    critical: bool  # no slack


class DayPart(_Frozen):
    """A step's share of a work day."""

    step: str
    seconds: float
    begins: bool  # the step begins on this day
    ends: bool


class WorkDay(_Frozen):
    """One day of work."""

    number: int
    day: date
    room: float  # [s] of work that the day has room for
    daylight: float  # [s]
    parts: tuple[DayPart, ...]
    machine: bool  # the rented machine is on site


class Rental(_Frozen):
    """A machine rented in one go."""

    machine: str
    first: date
    last: date
    days: int  # charged
    cost: float  # [currency]
    likely_days: tuple[int, int]  # charged days that 1 in 10 and 9 in 10 builds keep under or at
    source: str


class FinishBand(_Frozen):
    """The finish as a band: so many of 100 builds are done by these days."""

    early: date  # 10
    middle: date  # 50
    late: date  # 90
    planned: float  # [0..1] chance to be done by the finish at mean times with no day lost
    samples: int


class Guide(_Frozen):
    """How one plan is built."""

    terms: BuildTerms
    latitude: float  # [°] used
    steps: tuple[Step, ...]  # in the order in which they are done
    times: tuple[StepTime, ...]  # as the steps
    days: tuple[WorkDay, ...]
    rentals: tuple[Rental, ...]
    finish: date | None  # with mean times and no day lost; None when all is done
    band: FinishBand | None
    least_days: float  # [days] of the longest chain of steps, however many help
    chain: tuple[str, ...]  # that chain
    proven: bool  # no order costs less rent, nor, at that rent, ends sooner with mean times
    assumed: tuple[str, ...]

    @property
    def share_done(self) -> float:
        """Share of the items that are ticked."""
        items = [len(step.items) for step in self.steps]
        ticked = sum(n * time.share_done for n, time in zip(items, self.times, strict=True))
        return ticked / sum(items) if sum(items) else 0.0

    @property
    def work_left(self) -> float:
        """Mean time of work still to go [s]."""
        return math.fsum(time.left for time in self.times)
