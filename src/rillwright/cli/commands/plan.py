"""`rillwright plan`: a yard in, its whole plan out."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rillwright.cli.exits import DOES_NOT_FIT, STOPPED
from rillwright.cli.options import Charts, Facts, Layers, Prices, YardFile, named_layers
from rillwright.errors import InputError

if TYPE_CHECKING:
    from rillwright.model.site import Yard

__all__ = ["plan"]


def plan(
    yard: YardFile,
    out: Annotated[Path, typer.Option(help="Folder for the plan")] = Path("plan"),
    force: Annotated[bool, typer.Option("--force", help="Replace a plan already in the folder")] = False,
    facts: Facts = None,
    layer: Layers = None,
    charts: Charts = None,
    prices: Prices = None,
    aim: Annotated[
        str | None, typer.Option(help="fewest heads, balanced or most even; the yard's own heads.aim when left out")
    ] = None,
    seed: Annotated[int, typer.Option(help="Seed of every random choice", min=0)] = 0,
    start: Annotated[
        Path | None, typer.Option(help="Plan to go on from, plan.json or its folder: what can stay as it is does")
    ] = None,
) -> None:
    """Plan a yard: heads, zones, valve places, pipes, hydraulics, parts and cost."""
    from rillwright.exchange import load_yard
    from rillwright.model.catalogue import load_catalogue

    document = _aimed(load_yard(yard, facts=facts, layers=named_layers(layer)), aim)
    catalogue = load_catalogue(charts=charts, prices=prices)

    from rillwright.cli.interrupt import kept_on_interrupt
    from rillwright.cli.planned import plan_into
    from rillwright.cli.summary import print_files, print_summary
    from rillwright.jobs.go_on import start_from
    from rillwright.jobs.write import read_plan

    earlier = None if start is None else read_plan(start)
    begun = None if earlier is None else start_from(earlier, earlier.heads)
    with kept_on_interrupt() as stop:
        made, files = plan_into(document, catalogue, out, force=force, seed=seed, stop=stop, start=begun)
    print_summary(made)
    print_files(files)
    if stop.asked:
        raise typer.Exit(STOPPED)
    if made.verdict == "does not fit":
        raise typer.Exit(DOES_NOT_FIT)


def _aimed(yard: "Yard", aim: str | None) -> "Yard":
    """Lean a yard another way between few heads and even water."""
    from typing import get_args

    from rillwright.model.site import Aim

    if aim is None:
        return yard
    if aim not in get_args(Aim):
        raise InputError(f"--aim {aim}: write one of {', '.join(get_args(Aim))}")
    return yard.model_copy(update={"heads": yard.heads.model_copy(update={"aim": aim})})
