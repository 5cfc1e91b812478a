"""When money is to be paid: the ledger's dues on the days of the build guide."""

from datetime import date

from rillwright.jobs.guide import make_guide
from rillwright.model.guide import BuildTerms, Digging, Guide
from rillwright.model.ledger import DayMoney, Ledger
from rillwright.model.money import ChargeKind
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan

__all__ = ["coming_money"]

WHEN: dict[ChargeKind, str] = {  # kind of the guide's step with which a charge falls due
    "permit": "permit",
    "delivery": "parts",
    "rental": "fetch",
    "trenches": "sleeves",
    "moving": "expose",
    "other": "join",
    "tax": "parts",
}


def coming_money(
    plan: Plan, ledger: Ledger, catalogue: Catalogue, *, start: date, seed: int = 0
) -> tuple[DayMoney, ...]:
    """What has gone by which day when the rest is paid as the guide goes: parts when bought, rent when it begins.

    Parameters: start, the first day of work; weekends are worked on, as the guide has it when nobody says otherwise.
    Errors: InputError as `make_guide`.
    """
    digging: Digging = "hand" if plan.yard.money.trenches == "hand" else "machine"
    guide = make_guide(plan, catalogue, BuildTerms(start=start, digging=digging), seed=seed)
    dues = [(_day(guide, "parts", start), ledger.parts_due, "parts")]
    dues += [(_day(guide, WHEN[charge.kind], start), charge.due, charge.what) for charge in ledger.charges]
    gone, found = ledger.paid, []
    for when, amount, what in sorted(due for due in dues if due[1] > 0):
        gone += amount
        found.append(DayMoney(day=when, paid=gone, what=what))
    return tuple(found)


def _day(guide: Guide, kind: str, start: date) -> date:
    """First day of the first step of a kind; the start when the guide has none."""
    kinds = {step.id: step.kind for step in guide.steps}
    return min((t.begins for t in guide.times if kinds[t.step] == kind and t.begins), default=start)
