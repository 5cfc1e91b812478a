"""`rillwright record`: each season's readings, what drifts, and what to replace."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rillwright.cli.options import PlanFile

if TYPE_CHECKING:
    from rillwright.model.plan import Plan
    from rillwright.model.yearly import YearlyRecord

__all__ = ["print_record", "record"]


def record(
    plan: PlanFile,
    log: Annotated[Path, typer.Option(help="Field log of all the years: JSON lines, one entry a line")],
    southern: Annotated[bool, typer.Option("--southern", help="Seasons begin in July, when the yard has no origin")] = (
        False
    ),
    explain: Annotated[
        str, typer.Option(help="Number to show the working of, e.g. record.wear.Z1.slope; 'all' lists them")
    ] = "",
) -> None:
    """Say what each season read, what drifts, how this spring compares with the last, and what to replace."""
    from rillwright.cli.summary import explain_own
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.write import read_plan
    from rillwright.jobs.yearly import make_record
    from rillwright.report.workings.yearly import record_workings

    document = read_plan(plan)
    origin = document.yard.origin
    found = make_record(document, load_log(log), southern=southern or (origin is not None and origin.lat < 0))
    if not explain:
        print_record(found, document)
        return
    explain_own(document, record_workings(found, document), explain, command="record")


def print_record(found: "YearlyRecord", plan: "Plan") -> None:
    """Print seasons, readings with their drift, and what to replace."""
    from rich.console import Console
    from rich.table import Table

    from rillwright.report.workings.yearly import record_workings
    from rillwright.report.yearly_words import season_rows, series_rows

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
        table = Table(box=None, pad_edge=False, header_style="dim")
        for column in columns:
            table.add_column(column)
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
