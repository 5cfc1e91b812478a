"""`rillwright explain`: the working of a number."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.options import Charts, PlanFile
from rillwright.errors import InputError

__all__ = ["explain"]

_OWN = {  # first word of a number that another command works out, and how it is asked there
    "water": "water PLAN ...",
    "so-far": "water PLAN --recent DAYS ...",
    "what-if": "water PLAN --what-if ...",
    "new-lawn": "new-lawn PLAN ...",
    "winter": "winter PLAN ...",
    "record": "record PLAN --log LOG ...",
}


def explain(
    plan: PlanFile,
    what: Annotated[str, typer.Argument(help="Number to explain, e.g. supply.safe-flow; none lists them all")] = "",
    guide: Annotated[Path | None, typer.Option(help="guide.json of the plan, or its folder: its numbers too")] = None,
    log: Annotated[Path | None, typer.Option(help="Field log, JSON lines: what it says of the plan too")] = None,
    charts: Charts = None,
    seed: Annotated[int, typer.Option(help="As given to answer", min=0)] = 0,
) -> None:
    """Show the working of any number in a plan, its guide or its log's conclusions: formula, inputs, source."""
    from rillwright.cli.summary import print_keys, print_working
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.explained import explained, log_numbers, read_guide
    from rillwright.jobs.write import read_plan
    from rillwright.model.catalogue import load_catalogue
    from rillwright.report.workings import find_working

    document = read_plan(plan)
    own = what.strip().lower().partition(".")[0]
    if own in _OWN:
        raise InputError(
            f"{what} depends on what you tell of it: ask `rillwright {_OWN[own]} --explain {what}`; 'all' lists them"
        )
    found = explained(document, guide=read_guide(guide, document) if guide else None)
    if log:
        found |= log_numbers(document, load_log(log), load_catalogue(charts=charts), seed=seed)
    if what:
        print_working(document, find_working(found, what))
    else:
        print_keys(document, found)
