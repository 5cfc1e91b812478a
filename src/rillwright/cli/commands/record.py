"""`rillwright record`: each season's readings, what drifts, and what to replace."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.options import PlanFile

__all__ = ["record"]


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
    from rillwright.cli.record_told import print_record
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
