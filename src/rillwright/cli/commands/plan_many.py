"""`rillwright plan-many`: many yards at once, each for itself."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.exits import BAD_INPUT, DOES_NOT_FIT
from rillwright.cli.options import Charts, Prices

__all__ = ["plan_many"]


def plan_many(
    yards: Annotated[list[Path], typer.Argument(help="Yards: .yard.json or .geojson")],
    out: Annotated[Path, typer.Option(help="Folder for the plans, one folder inside for each yard")] = Path("plans"),
    force: Annotated[bool, typer.Option("--force", help="Replace plans already there")] = False,
    scheduler: Annotated[str | None, typer.Option(help="Dask scheduler to share the work, tcp://HOST:PORT")] = None,
    charts: Charts = None,
    prices: Prices = None,
    seed: Annotated[int, typer.Option(help="Seed of every random choice", min=0)] = 0,
) -> None:
    """Plan many yards at once, each for itself, on all cores of this machine or on a cluster."""
    from rillwright.cli.many_files import plan_files
    from rillwright.model.catalogue import load_catalogue

    catalogue = load_catalogue(charts=charts, prices=prices)
    ends = plan_files(yards, catalogue, out=out, force=force, scheduler=scheduler, seed=seed)
    if "failed" in ends:
        raise typer.Exit(BAD_INPUT)
    if "does not fit" in ends:
        raise typer.Exit(DOES_NOT_FIT)
