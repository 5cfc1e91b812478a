"""How far a job has come: what the log of a plan that is being built says was bought, dug, closed and measured."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from rillwright.errors import InputError
from rillwright.jobs.carried import carried, whole_list
from rillwright.model.field_log import (
    Entry,
    MeterPair,
    PartsBought,
    PartsReturned,
    PipeBuried,
    SupplyTest,
    Ticked,
    TrenchWork,
    supply_tests,
)
from rillwright.model.plan import Plan
from rillwright.model.site import Measurement
from rillwright.solvers.guide.keys import filled_key, trench_key

__all__ = ["JobState", "Stock", "job_fact", "state_of"]

_FACTS = (SupplyTest, MeterPair, PartsBought, PartsReturned, TrenchWork, PipeBuried)
TrenchState = Literal["not dug", "open", "closed"]


@dataclass(frozen=True, slots=True)
class Stock:
    """What was bought of one part."""

    quantity: float  # pieces or metres
    paid: float  # [currency] of one
    lost: float  # [currency] of one that is not used: the price less what the shop gives back

    def less(self, number: float) -> "Stock":
        """What is left when so much was taken back; never less than nothing."""
        return replace(self, quantity=max(0.0, self.quantity - number))


@dataclass(frozen=True, slots=True)
class JobState:
    """The facts that a change has to live with."""

    stock: Mapping[str, Stock]  # by part
    trench: Mapping[str, TrenchState]  # by trench of the plan
    tests: tuple[Measurement, ...] = ()  # of the supply, taken since the plan was made
    entries: tuple[Entry, ...] = ()  # that it was read off

    def bought(self, part: str) -> float:
        """Pieces or metres of a part that were paid for."""
        return self.stock[part].quantity if part in self.stock else 0.0


def job_fact(entry: Entry) -> bool:
    """Whether an entry is one that a state is read off."""
    what = entry.what
    return isinstance(what, _FACTS) or (isinstance(what, Ticked) and what.item.startswith(("trench:", "filled:")))


def state_of(plan: Plan, entries: Iterable[Entry]) -> JobState:
    """Read the state of a job off the log of its plan; corrections and withdrawals count.

    A trench is closed too when all its pipes are said to be buried, each after the trench was last opened, and when it
    is ticked off as filled; ticked off as dug it is open.
    Errors: InputError for a trench that the plan does not have, or a part bought whole that it does not list.
    """
    trench: dict[str, TrenchState] = dict.fromkeys((trench.id for trench in plan.trenches), "not dug")
    bought: dict[str, list[Stock]] = {}
    returned: dict[str, float] = defaultdict(float)
    bare = {trench.id: set(trench.pipes) for trench in plan.trenches}  # not buried since it was last opened
    counting = carried(plan, entries)
    for entry in counting:
        what = entry.what
        if isinstance(what, TrenchWork):
            for name in what.trenches:
                if name not in trench:
                    raise InputError(
                        f"The log tells of trench '{name}', which the plan does not have: its trenches are "
                        f"{', '.join([*trench][:3])} and so on. Give the plan that is being built."
                    )
                trench[name] = what.state
            bare |= {one.id: set(one.pipes) for one in plan.trenches if one.id in what.trenches}
        elif isinstance(what, Ticked):
            trench |= _ticked(what, plan, trench)
        elif isinstance(what, PipeBuried):
            for name, pipes in bare.items():
                if what.pipe in pipes:
                    pipes.remove(what.pipe)
                    trench[name] = trench[name] if pipes else "closed"
        elif isinstance(what, PartsBought):
            for part, stock in _bought(what, plan):
                bought.setdefault(part, []).append(stock)
        elif isinstance(what, PartsReturned):
            for item in what.parts:
                returned[item.part] += item.amount
    left = {part: _together(stocks).less(returned[part]) for part, stocks in bought.items()}
    tests = tuple(test for _, test in supply_tests(counting))
    return JobState(left, trench, tests, tuple(counting))


def _ticked(what: Ticked, plan: Plan, now: Mapping[str, TrenchState]) -> dict[str, TrenchState]:
    """The state of a trench after a tick on its digging or filling; empty for other ticks."""
    for one in plan.trenches:
        if what.item == filled_key(one):
            return {one.id: "closed" if what.done else "open" if now[one.id] == "closed" else now[one.id]}
        if what.item == trench_key(one):
            return {one.id: ("open" if now[one.id] == "not dug" else now[one.id]) if what.done else "not dug"}
    return {}


def _bought(what: PartsBought, plan: Plan) -> Iterable[tuple[str, Stock]]:
    left = 1 - what.given_back
    for item in (*(whole_list(plan) if what.whole_list else ()), *what.parts):
        yield item.part, Stock(item.amount, item.price, item.price * left)


def _together(stocks: list[Stock]) -> Stock:
    """Several purchases of one part, at their mean price."""
    number = sum(stock.quantity for stock in stocks)
    paid = sum(stock.quantity * stock.paid for stock in stocks)
    lost = sum(stock.quantity * stock.lost for stock in stocks)
    return Stock(number, paid / number, lost / number)
