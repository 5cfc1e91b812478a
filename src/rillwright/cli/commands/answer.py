"""`rillwright answer`: what the readings of a field log conclude."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rillwright.cli.options import Charts
from rillwright.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rillwright.jobs.answers import Answer

__all__ = ["answer"]


def answer(
    plan: Annotated[Path, typer.Argument(help="plan.json or its folder; the yard is in it")],
    log: Annotated[Path, typer.Option(help="Field log: JSON lines, one entry a line")],
    yard: Annotated[
        Path | None, typer.Option(help="Yard file to put the log's heights and soil into; with --out")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Where the yard with them is written")] = None,
    charts: Charts = None,
    seed: Annotated[int, typer.Option(min=0)] = 0,
) -> None:
    """Say what the readings in a field log conclude about a plan: supply, leaks, start-ups, valves, cups, ground."""
    if (yard is None) != (out is None):
        raise InputError(
            "Give --yard, the file to put heights and soil into, and --out, where it is written, together."
        )
    from rillwright.cli.answers_told import print_answers
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.answers import answer_log
    from rillwright.jobs.write import read_plan
    from rillwright.model.catalogue import load_catalogue

    answers = answer_log(read_plan(plan), load_log(log), load_catalogue(charts=charts), seed=seed)
    print_answers(answers)
    if yard is not None and out is not None:
        _put(answers, yard, out)


def _put(answers: "Sequence[Answer]", yard: Path, out: Path) -> None:
    """Write a yard with what the answers would put into it."""
    from rillwright.exchange.yard_file import document_text, read_json, validated, write_text
    from rillwright.jobs.answers import put_into

    before = document = read_json(yard)
    validated(before, source=yard.name)
    puts = [answer.put for answer in answers if answer.put is not None]
    for put in puts:
        document = put_into(document, put)
    if document == before:
        typer.echo("\nThe log has no heights or soil that the yard does not hold: nothing is written.")
        return
    validated(document, source=f"{yard.name} with what the log says")
    write_text(document_text(document), out)
    typer.echo(f"\nWrote {out}, with {', '.join(put.words for put in puts)}: plan it again.")
