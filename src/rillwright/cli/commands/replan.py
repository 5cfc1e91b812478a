"""`rillwright replan`: what to do now, with parts bought and pipe buried."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.exits import DOES_NOT_FIT, STOPPED
from rillwright.cli.options import Charts, Facts, Layers, Prices, YardFile, named_layers

__all__ = ["replan"]


def replan(
    yard: YardFile,
    plan: Annotated[Path, typer.Option(help="plan.json of the plan being built, or its folder")],
    log: Annotated[Path, typer.Option(help="Field log of the job, JSON lines")],
    out: Annotated[Path, typer.Option(help="Folder for the changes")] = Path("changes"),
    force: Annotated[bool, typer.Option("--force", help="Replace changes already in the folder")] = False,
    hour: Annotated[float, typer.Option(help="What an hour of your work is worth", min=0, max=1000)] = 20.0,
    second_supply: Annotated[
        float | None, typer.Option(help="Price of a second service pipe and meter, if you may have one", min=0)
    ] = None,
    sure: Annotated[
        float | None,
        typer.Option(help="Chance, 0 to 1, with which a change must hold; as sure as the plan was else", min=0, max=1),
    ] = None,
    facts: Facts = None,
    layer: Layers = None,
    charts: Charts = None,
    prices: Prices = None,
    seed: Annotated[int, typer.Option(help="Seed of every random choice", min=0)] = 0,
) -> None:
    """Say what to do now: with parts bought and pipe buried, the least-cost changes that make every zone sound."""
    from rillwright.exchange import load_yard
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.write import read_plan
    from rillwright.model.catalogue import load_catalogue

    document = load_yard(yard, facts=facts, layers=named_layers(layer))
    catalogue = load_catalogue(charts=charts, prices=prices)

    from rillwright.cli.changes_told import print_changes
    from rillwright.cli.interrupt import kept_on_interrupt
    from rillwright.cli.progress import shown_progress
    from rillwright.jobs.replan import in_yard, replan_job
    from rillwright.jobs.replan.write import check_changes, write_changes
    from rillwright.jobs.workers import process_pool

    building, entries = in_yard(read_plan(plan), document), load_log(log)
    check_changes(out, force=force)
    with kept_on_interrupt() as stop, process_pool() as pool, shown_progress(stop) as progress:
        found = replan_job(
            building,
            entries,
            catalogue,
            hour=hour / 3600,
            second_supply=second_supply,
            sure=sure,
            seed=seed,
            progress=progress,
            pool=pool,
            stop=stop,
        )
        progress("drawings and reports", 0.95)
        files = write_changes(found, catalogue, out, force=force)
    print_changes(found)
    typer.echo(f"\nWrote {files[0]} (open it in a browser), and the whole plan of each change in its folder beside it.")
    if stop.asked:
        raise typer.Exit(STOPPED)
    if not found.sure_ones:
        raise typer.Exit(DOES_NOT_FIT)
