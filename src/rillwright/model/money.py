"""What the owner says of money: own prices, tax, delivery, permit, rents, water tariff, and how far all may stray.

What nobody has said is None; what is then counted stands in `jobs/money`, and every ledger tells it. Prices are before
tax. A price of pipe, wire or sleeve is of one foot or one metre, as the yard's units go, unless `each` says otherwise.
"""

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from rillwright.model.quantities import Hours, Money, Share, quantity

__all__ = [
    "ChargeKind",
    "MoneyFacts",
    "OwnPrice",
    "PriceEach",
    "Spreads",
    "Tariff",
    "TariffBlock",
    "TariffUnit",
    "ThreePoint",
    "TrenchPay",
]

ChargeKind = Literal["tax", "delivery", "permit", "rental", "trenches", "moving", "other"]
PriceEach = Literal["piece", "ft", "m"]
TariffUnit = Literal["m³", "1000 gal", "100 ft³"]
TrenchPay = Literal["machine", "hand", "by the metre"]
SeasonVolume = Annotated[float, *quantity("volume", low=0, high=1e6)]


class _Document(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class OwnPrice(_Document):
    """What a part costs where the owner buys."""

    part: str = Field(min_length=1, max_length=120)  # as the parts list or the packaged price table spells it
    price: Money  # [currency] of one
    each: PriceEach | None = None  # one what; None: a piece, and of what goes by length a foot or a metre of the yard
    source: str = Field(default="typed by the owner", min_length=1, max_length=200)


class TariffBlock(_Document):
    """A block of a water tariff: what a unit costs from where the block before ends."""

    price: Money  # [currency] of one unit
    up_to: SeasonVolume | None = None  # [m³] in one billing period; None: all that is over


class Tariff(_Document):
    """A block tariff with a fixed charge."""

    blocks: Annotated[list[TariffBlock], Field(min_length=1, max_length=12)]
    unit: TariffUnit = "m³"  # that the prices are of
    fixed: Money = 0.0  # [currency] for each billing period, whether water runs or not
    months: Annotated[int, Field(ge=1, le=12, strict=True)] = 1  # of a billing period
    house: SeasonVolume = 0.0  # [m³] that the house uses in a month besides: it fills the first blocks

    @model_validator(mode="after")
    def _rising(self) -> "Tariff":
        ends = [block.up_to for block in self.blocks]
        if ends[-1] is not None or any(end is None for end in ends[:-1]):
            raise ValueError("every block but the last needs 'up_to', and the last must have none")
        bounds = [end for end in ends if end is not None]
        if any(b <= a for a, b in pairwise([0.0, *bounds])):
            raise ValueError("each block's 'up_to' must be more than that of the block before")
        return self


class ThreePoint(_Document):
    """A factor on a cost in three points: as low, as likely and as high as it may come."""

    low: Annotated[float, Field(ge=0, le=10)]
    likely: Annotated[float, Field(ge=0, le=10)]
    high: Annotated[float, Field(ge=0, le=10)]

    @model_validator(mode="after")
    def _in_order(self) -> "ThreePoint":
        if not self.low <= self.likely <= self.high:
            raise ValueError("write low, likely and high in rising order")
        return self


class Spreads(_Document):
    """How far costs may stray; every default is judgement, no source."""

    listed: Share = 0.20  # of a packaged, invented price: standard deviation of its logarithm, each part by itself
    own: Share = 0.03  # of a price that the owner has typed or put in a file
    shop: Share = 0.07  # of all prices together: a dear shop, a dear year
    lost: ThreePoint = ThreePoint(low=0.0, likely=0.01, high=0.05)  # pieces lost or wrong, over the list and its spares
    soil: ThreePoint = ThreePoint(low=0.9, likely=1.0, high=2.0)  # on the hours of digging: stones, roots, old lines
    by_metre: ThreePoint = ThreePoint(low=0.9, likely=1.0, high=1.5)  # on trenches paid by the metre, and on moving
    fees: ThreePoint = ThreePoint(low=1.0, likely=1.0, high=1.3)  # on permit and delivery


class MoneyFacts(_Document):
    """All of it."""

    prices: Annotated[list[OwnPrice], Field(max_length=1000)] = []
    tax: Share | None = None  # on parts and rent
    delivery: Money | None = None  # [currency] of one order
    delivery_free_from: Money | None = None  # [currency] of parts in one order
    permit: Money | None = None  # [currency]
    trenches: TrenchPay | None = None  # how they are paid for: a rented machine, own hands, or by the metre
    machine_hours: Hours = 7.0 * 3600  # [s] of work that one day of rent gives
    rent_day: Money | None = None  # [currency] of the machine
    rent_week: Money | None = None
    contractor: Money | None = None  # [currency] of what licensed trades are paid: joining the supply, backflow test
    yearly: Money | None = None  # [currency] that may be spent in one year, when the job is done in phases
    price_rise: Share = 0.03  # of all prices from one year to the next; judgement, no source
    tariff: Tariff | None = None
    spreads: Spreads = Spreads()

    @model_validator(mode="after")
    def _once(self) -> "MoneyFacts":
        parts = [price.part for price in self.prices]
        twice = next((part for part in parts if parts.count(part) > 1), None)
        if twice is not None:
            raise ValueError(f"'{twice}' has two prices: keep one")
        return self
