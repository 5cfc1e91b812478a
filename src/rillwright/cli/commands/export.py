"""The `export` command. Heavy imports happen inside, so that --help is quick."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.options import PlanFile, Prices

__all__ = ["export"]


def export(
    plan: PlanFile,
    target: Annotated[Path, typer.Argument(help=".xlsx (parts, money), .geojson (map), .dxf (CAD) or .svg")],
    log: Annotated[Path | None, typer.Option(help="Field log with receipts: JSON lines, one entry a line")] = None,
    prices: Prices = None,
    force: Annotated[bool, typer.Option("--force", help="Replace the file")] = False,
) -> None:
    """Write a plan for other programs: parts as a workbook, heads, pipes and trenches as a map or drawing."""
    from rillwright.errors import InputError
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.export import EXPORTS
    from rillwright.jobs.money import with_money_of
    from rillwright.jobs.write import read_plan, write_files
    from rillwright.model.catalogue import load_catalogue

    make = EXPORTS.get(target.suffix.lower())
    if make is None:
        raise InputError(f"{target}: give a file whose name ends in {', '.join(EXPORTS)}.")
    catalogue = load_catalogue(prices=prices)
    document = with_money_of(read_plan(plan), None, catalogue)
    data = make(document, catalogue, load_log(log) if log else [])
    write_files({target.name: data}, target.parent, force=force, names=[target.name])
    typer.echo(f"Wrote {target}")
