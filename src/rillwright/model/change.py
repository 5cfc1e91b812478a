"""A change of a job under way: what it does, what it costs against finishing as drawn, and how sure it is. SI."""

from typing import Literal
from uuid import UUID

from pydantic import BaseModel, ConfigDict

from rillwright.model.certainty import Chance
from rillwright.model.site_works import BoughtPart

__all__ = ["Change", "ChangedPart", "ChangedTask", "ChangedTrench", "Earlier", "Reading", "Undoing"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class ChangedPart(_Frozen):
    """A part to buy, or thrown away."""

    part: str
    unit: Literal["piece", "m"]
    quantity: float  # more than to finish as drawn; less than 0: fewer
    cost: float  # [currency]


class ChangedTrench(_Frozen):
    """A trench dug for the change, dug up again, or no longer needed."""

    trench: str
    surface: str
    length: float  # [m]
    cost: float  # [currency]


class ChangedTask(_Frozen):
    """Work of one kind; less than 0: saved."""

    task: str
    amount: float  # metres or pieces
    low: float  # [s] for one
    likely: float  # [s]
    high: float  # [s]
    source: str


class Undoing(_Frozen):
    """The undo-cost: what was done and is undone."""

    thrown: tuple[ChangedPart, ...]
    dug_up: tuple[ChangedTrench, ...]

    @property
    def lost(self) -> float:
        """What is thrown away [currency]."""
        return sum(part.cost for part in self.thrown)

    @property
    def again(self) -> float:
        """What digging up costs [currency]."""
        return sum(trench.cost for trench in self.dug_up)

    @property
    def length(self) -> float:
        """What is dug up [m]."""
        return sum(trench.length for trench in self.dug_up)


class Reading(_Frozen):
    """One more reading of the supply that could change which change is best."""

    what: str
    changes: float  # [0..1] chance that another of the changes is the cheapest that surely holds, after it


class Earlier(_Frozen):
    """What was being built before a change: what its log says stays true, in the words of that plan."""

    entries: tuple[UUID, ...]  # first entries that counted when the change was found
    parts: tuple[BoughtPart, ...]  # its whole parts list
    again: tuple[str, ...]  # its trenches that the change digs up again


class Change(_Frozen):
    """What becomes of a job."""

    kinds: tuple[str, ...]
    words: tuple[str, ...]  # what is done
    note: str = ""
    bought: tuple[ChangedPart, ...]
    extras: tuple[ChangedPart, ...]  # a pump, a second supply, stations
    fresh: tuple[ChangedTrench, ...]
    saved: tuple[ChangedTrench, ...]
    undoing: Undoing
    tasks: tuple[ChangedTask, ...]
    hours: float  # [s] mean
    hours_spread: float  # [s] standard deviation
    hour_price: float  # [currency/s]
    total: float  # [currency] money, hours at their price, and what is thrown away
    needed: float  # [s] of watering in a usual week of the peak
    holds: Chance | None = None  # that every head of every zone stays inside its pressure band
    status: Literal["optimal", "feasible"]  # optimal: no change of the moves tried costs less
    bound: float  # [currency] that none of them costs less than
    reading: Reading | None = None
    earlier: tuple[Earlier, ...] = ()  # the plan that it changes last

    @property
    def parts(self) -> float:
        """Parts and extras to pay for [currency]."""
        return sum(part.cost for part in (*self.bought, *self.extras))

    @property
    def trenches(self) -> float:
        """Fresh trenches less those saved [currency]."""
        return sum(t.cost for t in self.fresh) - sum(t.cost for t in self.saved)

    @property
    def money(self) -> float:
        """All that has to be paid for [currency]."""
        return self.parts + self.trenches + self.undoing.again

    @property
    def worth(self) -> float:
        """The mean hours at their price [currency]."""
        return self.hours * self.hour_price
