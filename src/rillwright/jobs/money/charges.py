"""Charges besides parts: trenches and rent, delivery, permit, licensed trades, moving, tax."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rillwright.jobs.money.receipts import Paid
from rillwright.model.ground import resolve_ground
from rillwright.model.labour import Rent, load_labour
from rillwright.model.ledger import Charge
from rillwright.model.money import ChargeKind, MoneyFacts, TrenchPay
from rillwright.model.plan import Plan, Trench
from rillwright.physics.units import show
from rillwright.solvers.guide import least_rent
from rillwright.solvers.guide.nets import nets_of
from rillwright.solvers.money.contingency import rental_days
from rillwright.solvers.money.digging import DugWork, dig_work, errand_time

__all__ = ["MACHINE", "Ground", "charges_of", "ground_of"]

MACHINE = "trencher"
_NOTHING_PAID = Paid()


@dataclass(frozen=True, slots=True)
class Ground:
    """How the trenches of a plan are paid for."""

    pay: TrenchPay
    priced: tuple[Trench, ...]  # by the metre
    machine: tuple[DugWork, ...]
    errand: float  # [s] of fetching and returning the machine
    day: float  # [s] of work in a day of rent
    rent: Rent

    @property
    def hours(self) -> float:
        """Of the machine with its errand [s]; 0 without a machine."""
        return sum(one.mean for one in self.machine) + self.errand if self.machine else 0.0

    @property
    def days(self) -> int:
        """Of rent."""
        return rental_days(self.hours, self.day)


def ground_of(plan: Plan) -> Ground:
    """Share the trenches of a plan among a rented machine, own hands and payment by the metre.

    With a machine or by hand, what is dug oneself costs no more than the rent; what lies under paving is cut or bored
    and stays paid by the metre.
    """
    facts = plan.yard.money
    pay = facts.trenches or "machine"
    labour = load_labour()
    listed = labour.rents[MACHINE]
    own = facts.rent_day is not None
    day = listed.day if facts.rent_day is None else facts.rent_day
    week = facts.rent_week if facts.rent_week is not None else (7 * day if own else listed.week)
    rent = Rent(day, week, "stated by the owner" if own else listed.source)
    if pay == "by the metre" or not plan.trenches:
        return Ground(pay, plan.trenches, (), 0.0, facts.machine_hours, rent)
    dug = nets_of(plan, resolve_ground(plan.yard), pay).dug
    priced = tuple(one.trench for one in dug if one.how == "sleeves")
    machine = dig_work(dug, yard=plan.yard, labour=labour) if pay == "machine" else ()
    return Ground(pay, priced, machine, errand_time(labour), facts.machine_hours, rent)


def charges_of(
    plan: Plan,
    ground: Ground,
    *,
    parts_whole: float,
    parts_due: float,
    parts_paid: float,
    paid: Mapping[ChargeKind, Paid],
) -> tuple[Charge, ...]:
    """Every charge of a plan.

    Parameters: plan; ground; parts_whole, of the whole list at its prices, parts_due, of what is still to be
    bought, and parts_paid, less what came back [currency]; paid, by kind, off the log.
    """
    found = [
        *_trenches(plan, ground, paid),
        *_fees(plan.yard.money, parts_whole=parts_whole, parts_due=parts_due, paid=paid),
    ]
    return (*found, *_tax(plan.yard.money, found, parts_paid=parts_paid, parts_due=parts_due, paid=paid))


def _charge(
    kind: ChargeKind,
    what: str,
    whole: float,
    paid: Mapping[ChargeKind, Paid],
    *,
    formula: str,
    source: str,
    inputs: Mapping[str, str] | None = None,
) -> Charge:
    gone = paid.get(kind, _NOTHING_PAID)
    due = 0.0 if gone.settled else max(0.0, whole - gone.amount)
    return Charge(
        kind=kind,
        what=what,
        whole=whole,
        paid=gone.amount,
        due=due,
        formula=formula,
        inputs=dict(inputs or {}),
        source=source,
    )


def _trenches(plan: Plan, ground: Ground, paid: Mapping[ChargeKind, Paid]) -> Sequence[Charge]:
    found = []
    if ground.machine:
        system = plan.yard.units
        metres = sum(one.dug.trench.length for one in ground.machine)
        by_hand = show(sum(one.by_hand for one in ground.machine), "hours", system)
        days = f"{ground.days} day{'s' if ground.days != 1 else ''}"
        inputs = {
            "trench by machine": show(metres, "length", system),
            "digging, at mean rates": show(ground.hours - ground.errand, "hours", system),
            "fetching and returning": show(ground.errand, "hours", system),
            "work in a day of rent": show(ground.day, "hours", system),
            "days": str(ground.days),
            "the same by hand": by_hand,
            "a day, a week": f"{ground.rent.day:.2f}, {ground.rent.week:.2f}",
        }
        formula = "least mix of day and week rents over (digging + fetching and returning) / work in a day, rounded up"
        cost = least_rent(ground.days, ground.rent)
        found.append(
            _charge(
                "rental",
                f"{MACHINE}, {days}; by hand the same takes two people {by_hand}",
                cost,
                paid,
                formula=formula,
                source=ground.rent.source,
                inputs=inputs,
            )
        )
    if ground.priced:
        cost = sum(trench.cost for trench in ground.priced)
        whose = "all trenches" if ground.pay == "by the metre" else "trenches under paving, cut or bored"
        names = {trench.id: f"{trench.cost:.2f}" for trench in ground.priced}
        source = "prices of a metre by surface, invented: replace"
        found.append(_charge("trenches", whose, cost, paid, formula="sum by the metre", source=source, inputs=names))
    if plan.cost is not None and plan.cost.moving:
        found.append(
            _charge(
                "moving",
                "what is in the ground and not kept",
                plan.cost.moving,
                paid,
                formula="sum of moving costs",
                source="yard",
            )
        )
    return found


def _fees(
    facts: MoneyFacts, *, parts_whole: float, parts_due: float, paid: Mapping[ChargeKind, Paid]
) -> Sequence[Charge]:
    found = []
    free = facts.delivery_free_from
    order = parts_due or parts_whole
    carried = 0.0 if free is not None and order >= free else facts.delivery or 0.0
    source = "stated by the owner"
    if facts.delivery is not None or "delivery" in paid:
        formula = "one order" if free is None else f"one order; none from {free:.2f} of parts on, here {order:.2f}"
        found.append(_charge("delivery", "one order", carried, paid, formula=formula, source=source))
    if facts.permit is not None or "permit" in paid:
        found.append(
            _charge(
                "permit", "the office's fee", facts.permit or 0.0, paid, formula="as the office asks", source=source
            )
        )
    if facts.contractor is not None or "other" in paid:
        whole = facts.contractor or 0.0
        found.append(_charge("other", "licensed trades", whole, paid, formula="as they were quoted", source=source))
    return found


def _tax(
    facts: MoneyFacts, others: Sequence[Charge], *, parts_paid: float, parts_due: float, paid: Mapping[ChargeKind, Paid]
) -> Sequence[Charge]:
    rate = facts.tax or 0.0
    if not rate and "tax" not in paid:
        return ()
    rent = next((one for one in others if one.kind == "rental"), None)
    base_paid = parts_paid + (rent.paid if rent else 0.0)
    base_due = parts_due + (rent.due if rent else 0.0)
    gone = paid.get("tax", Paid(amount=rate * base_paid))
    inputs = {
        "rate": f"{100 * rate:g} %",
        "parts and rent paid": f"{base_paid:.2f}",
        "parts and rent still to pay": f"{base_due:.2f}",
    }
    return (
        Charge(
            kind="tax",
            what="on parts and rent",
            whole=gone.amount + rate * base_due,
            paid=gone.amount,
            due=rate * base_due,
            formula="rate · (parts + rent)",
            inputs=inputs,
            source="stated by the owner",
        ),
    )
