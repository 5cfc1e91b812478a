"""`rillwright answer`: what the readings of a field log conclude."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.options import Charts

__all__ = ["answer"]


def answer(
    plan: Annotated[Path, typer.Argument(help="plan.json or its folder; the yard is in it")],
    log: Annotated[Path, typer.Option(help="Field log: JSON lines, one entry a line")],
    charts: Charts = None,
    seed: Annotated[int, typer.Option(min=0)] = 0,
) -> None:
    """Say what the readings in a field log conclude about a plan: supply, leaks, start-ups, valves, cups."""
    from rillwright.cli.answers_told import print_answers
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.answers import answer_log
    from rillwright.jobs.write import read_plan
    from rillwright.model.catalogue import load_catalogue

    print_answers(answer_log(read_plan(plan), load_log(log), load_catalogue(charts=charts), seed=seed))
