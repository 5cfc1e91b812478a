"""The ledger: what a plan costs in all, what of it is paid, what is still to pay, and how sure the total is."""

from datetime import date
from typing import Literal

from pydantic import BaseModel, ConfigDict

from rillwright.model.money import ChargeKind
from rillwright.model.site import Aim

__all__ = [
    "Band",
    "Charge",
    "ChoiceCost",
    "DayMoney",
    "KindBand",
    "Ledger",
    "PartMoney",
    "WaterBill",
    "WaterMonth",
]

CostKind = Literal["parts"] | ChargeKind


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class PartMoney(_Frozen):
    """One part: what the plan needs, what of it is there, and what it costs. Quantities in pieces or metres."""

    id: str  # of the line in the parts list; of a part bought and not on the list 'X1' and so on
    part: str
    unit: Literal["piece", "m"]
    needed: float
    owned: float  # before the job: stated by the owner, or in the ground and kept
    bought: float
    returned: float
    to_buy: float
    spare: float  # bought or owned, and not needed
    price: float  # [currency] of one still to be bought
    price_source: str
    price_from: Literal["owner", "list", "none"]
    paid: float  # [currency] less what came back
    due: float  # [currency] for what is still to be bought


class Charge(_Frozen):
    """What is to be paid besides parts."""

    kind: ChargeKind
    what: str
    whole: float  # [currency] in all
    paid: float
    due: float
    formula: str
    inputs: dict[str, str] = {}
    source: str


class Band(_Frozen):
    """What the whole may come to [currency]: 10, 50 and 90 of 100 draws stay under these."""

    low: float
    middle: float
    high: float
    mean: float
    within: float | None  # chance to stay within the budget; None without one
    samples: int


class KindBand(_Frozen):
    """The same of one kind of cost."""

    kind: CostKind
    low: float
    middle: float
    high: float


class DayMoney(_Frozen):
    """Money gone by the end of a day."""

    day: date
    paid: float  # [currency] in all up to then
    what: str


class WaterMonth(_Frozen):
    """Water and its price in one billing period."""

    months: str  # such as 'May' or 'May, Jun'
    yard: float  # [m³]
    house: float  # [m³]
    more: float  # [currency] that the yard's water adds to the bill
    top_price: float  # [currency/m³] of the last of it


class WaterBill(_Frozen):
    """Water of a season by the tariff."""

    volume: float  # [m³]
    cost: float  # [currency] that it adds to the bills
    fixed: float  # [currency] of the periods in which water runs, paid anyway
    periods: tuple[WaterMonth, ...]
    tariff: str  # in words
    source: str


class ChoiceCost(_Frozen):
    """One layout of the front between few heads and even water, in money."""

    aim: Aim | None
    chosen: bool
    heads: int
    more: float  # [currency] about so much more to build than this plan
    season_water: float  # [m³]
    season_cost: float | None  # [currency] by the tariff; None without one
    lasting: float | None  # [currency] more than this plan to build and to water over the life of a system


class Ledger(_Frozen):
    """All of it."""

    currency: str
    parts: tuple[PartMoney, ...]
    charges: tuple[Charge, ...]
    paid: float
    due: float
    total: float  # paid and due
    budget: float | None
    planned: float  # [currency] that the plan itself counts: parts and trenches by the metre
    band: Band
    kinds: tuple[KindBand, ...]
    spent: tuple[DayMoney, ...]  # by the log
    coming: tuple[DayMoney, ...]  # by the guide's dates, when they are asked for
    water: WaterBill | None
    choices: tuple[ChoiceCost, ...]
    assumed: tuple[str, ...]  # what nobody has said, and what is counted for it
    doubts: tuple[str, ...]  # what in log or prices does not fit the plan

    @property
    def left(self) -> float | None:
        """Budget less the total [currency]; less than 0 when it is over."""
        return None if self.budget is None else self.budget - self.total

    @property
    def parts_paid(self) -> float:
        """Paid for parts, less what came back [currency]."""
        return sum(one.paid for one in self.parts)

    @property
    def parts_due(self) -> float:
        """Still to be paid for parts [currency]."""
        return sum(one.due for one in self.parts)

    def charge(self, kind: ChargeKind) -> Charge | None:
        """The charge of a kind."""
        return next((one for one in self.charges if one.kind == kind), None)
