"""What a person reads on the terminal of the changes of a job under way."""

from rich.console import Console
from rich.markup import escape

from rillwright.cli.tables import plain_table
from rillwright.jobs.replan import Outcome
from rillwright.jobs.replan.standing import standing_of
from rillwright.physics.units import show

__all__ = ["print_changes"]


def print_changes(outcome: Outcome) -> None:
    """Print how the job stands, then the changes, the least cost first."""
    console, plan = Console(), outcome.before
    system, currency = plan.yard.units, plan.yard.currency
    standing = standing_of(plan, outcome.state, supply=outcome.supply)
    closed, trench = show(standing.closed, "length", system), show(standing.trench, "length", system)
    drawn = outcome.as_drawn
    console.print()
    console.print(f"[bold]Finished as drawn:[/] {drawn.verdict}. {escape(drawn.headline)}", highlight=False)
    console.print(outcome.supply, highlight=False, markup=False)
    console.print(
        f"Parts paid for: {standing.bought:.0f} {currency}. Trench closed: {closed} of {trench}.", highlight=False
    )
    if not outcome.changes:
        console.print(f"\nNo change of the {outcome.tried} tried makes every zone sound.", style="bold red")
        return
    money = f">total\n{currency}"
    table = plain_table("", "change", money, ">money", ">hours", ">thrown\naway", ">dug up\nagain", ">holds")
    for number, after in enumerate(outcome.changes, start=1):
        change = after.change
        assert change is not None
        table.add_row(
            str(number),
            escape(", ".join(change.kinds) or "nothing"),
            f"{change.total:.0f}",
            f"{change.money:.0f}",
            f"{change.hours / 3600:.1f}",
            f"{change.undoing.lost:.0f}",
            show(change.undoing.length, "length", system),
            show(change.holds.value, "share", system) if change.holds else "",
        )
    console.print("\nWhat now: the best changes that differ in kind", style="bold")
    if outcome.how_sure:
        console.print(outcome.how_sure, highlight=False)
    console.print(table)
    for number, after in enumerate(outcome.changes, start=1):
        change = after.change
        assert change is not None
        console.print(f"{number}. {'; '.join(change.words)}", highlight=False, markup=False)
    first = outcome.changes[0].change
    assert first is not None
    price = 3600 * first.hour_price
    console.print(
        f"\nAgainst finishing as drawn; an hour of work counts {price:.2f} {currency}. "
        + _ending(first.status, first.bound, currency),
        highlight=False,
    )
    if first.reading is not None:
        share = show(first.reading.changes, "share", system)
        words = f"Measure first: {first.reading.what} ({share} chance that another change is then the best)."
        console.print(words, highlight=False, markup=False)
    console.print(
        "Before digging call the utility-location service again if the marks are gone; closed trenches hold pipe: dig "
        "by hand.",
        style="dim",
    )


def _ending(status: str, bound: float, currency: str) -> str:
    if status == "optimal":
        return "No change tried that does as well costs less than the first."
    least = f"none can cost less than {bound:.0f} {currency}" if bound >= 1 else "a cheaper one may exist"
    return f"The search was ended early: {least}."
