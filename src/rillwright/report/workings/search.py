"""Workings of the search for the cheapest system, and of the bound under its cost."""

from collections.abc import Iterator

from rillwright.model.plan import Plan
from rillwright.report.workings.working import Given, Working

__all__ = ["search_workings"]

_SOURCE = "docs/theory/joint.md"


def search_workings(plan: Plan) -> Iterator[Working]:
    """Workings of each step's total, of what all steps saved, and of the bound with its parts."""
    money = f"({plan.yard.currency})"
    for number, step in enumerate(plan.search, start=1):
        tried = (Given("systems looked at", str(step.tried)),)
        formula = "parts + trenches + moving of the best system after this step"
        title = f"Systems looked at in '{step.what}'"
        yield Working(f"search.{number}.tried", title, step.tried, "count", "counted", (), _SOURCE)
        yield Working(
            f"search.{number}.total", f"After '{step.what}' {money}", step.total, "money", formula, tried, _SOURCE
        )
    if plan.search:
        ends = (
            Given("first", f"{plan.search[0].total:.2f}", "search.1.total"),
            Given("last", f"{plan.search[-1].total:.2f}", f"search.{len(plan.search)}.total"),
        )
        saved = plan.search[0].total - plan.search[-1].total
        yield Working(
            "search.saved", f"Saved by the search {money}", saved, "money", "first - last", ends, _SOURCE, saved
        )
    for part in plan.least:
        key = f"least.{part.what}"
        yield Working(
            key,
            f"No system on the lines searched has cheaper {part.what} {money}",
            part.amount,
            "money",
            part.formula,
            (),
            _SOURCE,
        )
    if plan.least:
        given = tuple(Given(part.what, f"{part.amount:.2f}", f"least.{part.what}") for part in plan.least)
        bound = sum(part.amount for part in plan.least)
        title = f"No system for these heads on the lines searched costs less than {money}"
        yield Working("least.total", title, bound, "money", "sum of the parts", given, _SOURCE, bound)
