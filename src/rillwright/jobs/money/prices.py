"""What a part costs: the owner's price where there is one, else that of the plan's price list."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from rillwright.model.money import OwnPrice
from rillwright.model.own_prices import price_of_one
from rillwright.model.parts import Catalogue
from rillwright.model.plan import PartLine, Plan
from rillwright.model.site import Yard
from rillwright.physics.units import System
from rillwright.solvers.takeoff import unpriced

__all__ = ["INVENTED", "Asked", "asked_prices", "priced_names", "with_money_of"]

INVENTED = "invented"  # how the source of a packaged price begins


@dataclass(frozen=True, slots=True)
class Asked:
    """What one piece or metre of a part costs."""

    price: float  # [currency]
    source: str
    whose: Literal["owner", "list", "none"]


def with_money_of(plan: Plan, yard: Yard | None, catalogue: Catalogue) -> Plan:
    """A plan with the budget and the money facts of its yard as it is now, and with prices of the owner's price file.

    Parameters: yard, None for the plan's own; catalogue, whose invented prices change nothing.
    """
    now = yard or plan.yard
    typed = {price.part for price in now.money.prices}
    listed = priced_names(plan)
    filed = [
        OwnPrice(part=price.part, price=price.price, each=price.each, source=price.source)
        for price in catalogue.prices.values()
        if not price.source.startswith(INVENTED) and price.part in listed - typed
    ]
    money = now.money.model_copy(update={"prices": [*now.money.prices, *filed]})
    update = {"money": money, "budget": now.budget, "currency": now.currency, "units": now.units}
    return plan.model_copy(update={"yard": plan.yard.model_copy(update=update)})


def priced_names(plan: Plan) -> set[str]:
    """Names by which the parts of a plan's list are priced: their own, and of nozzles their class."""
    return {line.part for line in plan.parts} | {f"nozzle {used.head_class}" for used in plan.nozzles}


def asked_prices(plan: Plan) -> Mapping[str, Asked]:
    """Price of every part of a plan's list.

    Errors: InputError for a price of a piece where the part goes by length, or the other way round.
    """
    own = {price.part: price for price in plan.yard.money.prices}
    classes = {f"nozzle {used.id}": f"nozzle {used.head_class}" for used in plan.nozzles}
    bare = {line.part for line in unpriced(plan.parts)}
    return {line.part: _asked(line, own, classes, bare, plan.yard.units) for line in plan.parts}


def _asked(
    line: PartLine, own: Mapping[str, OwnPrice], classes: Mapping[str, str], bare: set[str], system: System
) -> Asked:
    typed = own.get(line.part) or own.get(classes.get(line.part, ""))
    if typed is not None:
        return Asked(price_of_one(typed, line.unit, system), typed.source, "owner")
    if line.part in bare:
        return Asked(0.0, line.price_source, "none")
    return Asked(line.price, line.price_source, "list" if line.price_source.startswith(INVENTED) else "owner")
