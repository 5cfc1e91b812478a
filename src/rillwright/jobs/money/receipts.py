"""What a field log says of money: parts bought and returned, and what else was paid, day by day."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from rillwright.jobs.carried import carried, whole_list
from rillwright.model.field_log import BoughtPart, Entry, MoneyPaid, PartsBought, PartsReturned
from rillwright.model.ledger import DayMoney
from rillwright.model.money import ChargeKind
from rillwright.model.plan import Plan

__all__ = ["Paid", "Receipts", "read_receipts"]


@dataclass(slots=True)
class Stock:
    """One part by the log; quantities in pieces or metres."""

    unit: Literal["piece", "m"]
    bought: float = 0.0
    returned: float = 0.0
    paid: float = 0.0  # [currency] less what came back
    back: float = 0.0  # [currency] that the shop would give for all that was bought

    @property
    def back_each(self) -> float:
        """What the shop gives for one that is taken back [currency]."""
        return self.back / self.bought if self.bought else 0.0


@dataclass(slots=True)
class Paid:
    """One kind of charge by the log."""

    amount: float = 0.0  # [currency] less what came back
    settled: bool = False


@dataclass(frozen=True, slots=True)
class Receipts:
    """All of it."""

    stock: Mapping[str, Stock]  # by part
    paid: Mapping[ChargeKind, Paid]
    days: Sequence[DayMoney]  # before tax
    doubts: Sequence[str] = field(default_factory=tuple)


def read_receipts(plan: Plan, entries: Iterable[Entry]) -> Receipts:
    """Read the money side of a log; corrections and withdrawals count.

    Errors: InputError when the whole list was bought of a plan that has none.
    """
    units = {line.part: line.unit for line in plan.parts}
    stock: dict[str, Stock] = {}
    paid: dict[ChargeKind, Paid] = defaultdict(Paid)
    steps: list[tuple[date, float, str]] = []
    doubts: list[str] = []
    for entry in sorted(carried(plan, entries), key=lambda one: one.made):
        what, day = entry.what, entry.made.date()
        if isinstance(what, PartsBought):
            bought = whole_list(plan) if what.whole_list else []
            cost = sum(_take(stock, units, item, what.given_back, doubts) for item in (*bought, *what.parts))
            steps.append((day, cost, what.receipt or "parts bought"))
        elif isinstance(what, PartsReturned):
            back = sum(_give(stock, item, doubts) for item in what.parts)
            steps.append((day, -back, what.receipt or "parts returned"))
        elif isinstance(what, MoneyPaid):
            amount = -what.amount if what.back else what.amount
            paid[what.of].amount += amount
            paid[what.of].settled |= what.settled
            steps.append((day, amount, what.receipt or what.of))
    return Receipts(stock, paid, tuple(_running(steps)), tuple(doubts))


def _take(
    stock: dict[str, Stock],
    units: Mapping[str, Literal["piece", "m"]],
    item: BoughtPart,
    given_back: float,
    doubts: list[str],
) -> float:
    unit: Literal["piece", "m"] = "m" if item.length is not None else "piece"
    if units.get(item.part, unit) != unit:
        wanted = "by length" if unit == "piece" else "by pieces"
        doubts.append(f"The log counts '{item.part}' otherwise than the parts list, which counts it {wanted}.")
    own = stock.setdefault(item.part, Stock(unit))
    cost = item.amount * item.price
    own.bought += item.amount
    own.paid += cost
    own.back += cost * given_back
    return cost


def _give(stock: dict[str, Stock], item: BoughtPart, doubts: list[str]) -> float:
    own = stock.get(item.part)
    if own is None or own.returned + item.amount > own.bought + 1e-9:
        doubts.append(f"The log takes back more of '{item.part}' than it bought before.")
    own = stock.setdefault(item.part, Stock("m" if item.length is not None else "piece"))
    own.returned += item.amount
    own.paid -= item.amount * item.price
    return item.amount * item.price


def _running(steps: Iterable[tuple[date, float, str]]) -> Iterable[DayMoney]:
    gone = 0.0
    for day, amount, what in steps:
        gone += amount
        yield DayMoney(day=day, paid=gone, what=what)
