"""Every number of a plan that can be explained: those of the plan, and those of its money with nothing bought yet."""

from rillwright.jobs.money import make_ledger
from rillwright.model.plan import Plan
from rillwright.report.workings import Working, all_workings
from rillwright.report.workings.money import ledger_workings

__all__ = ["explained"]


def explained(plan: Plan) -> dict[str, Working]:
    """Workings by key, in reading order."""
    found = all_workings(plan)
    if plan.cost is not None:
        found |= {working.key: working for working in ledger_workings(make_ledger(plan), plan)}
    return found
