"""The yearly record on the terminal."""

from rich.console import Console

from rillwright.cli.tables import plain_table
from rillwright.model.plan import Plan
from rillwright.model.yearly import YearlyRecord
from rillwright.report.workings.yearly import record_workings
from rillwright.report.yearly_words import season_rows, series_rows

__all__ = ["print_record"]


def print_record(found: YearlyRecord, plan: Plan) -> None:
    """Print seasons, readings with their drift, and what to replace."""
    console = Console()

    def say(text: str, style: str = "") -> None:
        console.print(text, highlight=False, markup=False, style=style)

    for title, (columns, rows) in (
        ("Seasons", season_rows(found, plan)),
        ("Readings", series_rows(found, plan)),
    ):
        if not rows:
            continue
        say(f"\n{title}", "bold")
        table = plain_table(*columns)
        for row in rows:
            table.add_row(*row)
        console.print(table)
    say("\nReplace or look at", "bold")
    for line in found.replace or ("Nothing by what was read.",):
        say(f"  - {line}")
    for line in found.says:
        say(f"\n{line}", "dim")
    workings = [working.key for working in record_workings(found, plan)]
    if workings:
        say(f"\nWorking: --explain '{workings[-1]}'; {len(workings)} number{'s' * (len(workings) > 1)} in all", "dim")
