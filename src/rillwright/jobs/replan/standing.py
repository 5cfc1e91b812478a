"""How far a job has come, in sums, each with its working."""

from collections.abc import Iterator

from rillwright.jobs.replan.state import JobState
from rillwright.model.plan import Plan
from rillwright.report.change_page import Standing
from rillwright.report.workings import Given, Working

__all__ = ["standing_of", "standing_workings"]


def standing_of(plan: Plan, state: JobState, *, supply: str) -> Standing:
    """How far a job has come. Parameters: supply, what it is fitted to, in words."""
    return Standing(
        bought=sum(stock.quantity * stock.paid for stock in state.stock.values()),
        closed=sum(t.length for t in plan.trenches if state.trench[t.id] == "closed"),
        opened=sum(t.length for t in plan.trenches if state.trench[t.id] == "open"),
        trench=sum(t.length for t in plan.trenches),
        supply=supply,
    )


def standing_workings(plan: Plan, state: JobState) -> Iterator[Working]:
    """Workings of what the log says was paid for, closed and opened."""
    standing = standing_of(plan, state, supply="")
    given = tuple(
        Given(f"{part}, {stock.quantity:.4g} at {stock.paid:.2f}", f"{stock.quantity * stock.paid:.2f}")
        for part, stock in state.stock.items()
    )
    formula = "sum over parts bought: quantity · price paid"
    title = f"Paid for parts ({plan.yard.currency})"
    yield Working("job.paid", title, standing.bought, "money", formula, given, "the log")
    for name, how, value in (("closed", "closed", standing.closed), ("open", "open", standing.opened)):
        own = ", ".join(t.id for t in plan.trenches if state.trench[t.id] == how) or "none"
        formula = f"sum of the lengths of trenches that the log leaves {how}"
        yield Working(f"job.{name}", f"Trench {how}", value, "length", formula, (Given("trenches", own),), "the log")
    formula = "sum of the lengths of the plan's trenches"
    yield Working("job.trench", "Trench of the plan", standing.trench, "length", formula, (), "the plan")
