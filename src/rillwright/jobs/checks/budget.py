"""Check of a finished plan that looks at its money."""

from collections.abc import Iterator

from rillwright.jobs.checks.inspection import Inspection
from rillwright.model.findings import Finding
from rillwright.solvers.takeoff import unpriced

__all__ = ["money"]


def money(case: Inspection) -> Iterator[Finding]:
    """The plan keeps within the budget and every part has a price."""
    cost = case.plan.cost
    if cost and cost.budget is not None and cost.total > cost.budget:
        yield Finding(
            rule="budget",
            severity="should",
            where="yard",
            what=f"the plan costs {cost.total:.0f} {case.plan.yard.currency}, the budget is {cost.budget:.0f}",
            do="Dig by hand, do it in phases, or allow cheaper head classes.",
        )
    for line in unpriced(case.plan.parts):
        yield Finding(
            rule="unpriced", severity="should", where=line.part, what="no price known", do="Add it to your price file."
        )
