"""The parts of a plan at the command line: place by place, how pipe is cut, what joints take, and the spares."""

from typing import TYPE_CHECKING, Annotated

import typer

from rillwright.cli.options import PlanFile
from rillwright.errors import InputError

if TYPE_CHECKING:
    from rich.console import Console

    from rillwright.model.placed import PipeCutting
    from rillwright.model.plan import Plan

__all__ = ["parts"]

IN_BULK = ("clamp ", "crimp ring ", "glue", "primer", "solder", "thread tape")


def parts(
    plan: PlanFile,
    at: Annotated[
        str | None, typer.Option(help="One place only: a head, zone, run, junction, valve place or 'water entry'")
    ] = None,
) -> None:
    """Show the parts of a plan where they are used, which stick or coil gives which pieces, and the spares."""
    from rich.console import Console

    from rillwright.jobs.write import read_plan

    document = read_plan(plan)
    if not document.placed:
        raise InputError(
            f"{plan}: holds no parts by place: it has no zones, or was made by an earlier version. Plan its yard again."
        )
    console = Console()
    _print_places(console, document, at)
    if at is None:
        for cutting in document.cutting:
            _print_cutting(console, cutting, document)
        _print_bulk(console, document)


def _print_places(console: "Console", plan: "Plan", at: str | None) -> None:
    """What each place takes."""
    from rillwright.report.parts_list import parts_by_place

    places = parts_by_place(plan)
    if at is not None and at not in places:
        raise InputError(f"--at {at}: no part is used there. Places are: {', '.join(places)}")
    for where in places if at is None else [at]:
        console.print(f"{where}: {', '.join(places[where])}", highlight=False)


def _print_cutting(console: "Console", cutting: "PipeCutting", plan: "Plan") -> None:
    """Each stick or coil with its pieces, cut from one end in this order."""
    from rillwright.physics.units import show

    system = plan.yard.units

    def told(length: float) -> str:
        return show(length, "length", system)

    if not cutting.cuts:
        return
    sure = "no plan buys less"
    if cutting.status == "feasible":
        sure += f" than {told(cutting.bound)}, {told(cutting.bought - cutting.bound)} under this one"
    laid = f"{told(cutting.laid)} laid of {told(cutting.bought)} bought"
    console.print(f"\n{cutting.part}: {laid}; {sure}", highlight=False)
    for number, cut in enumerate(cutting.cuts, start=1):
        pieces = ", ".join(f"{told(piece.length)} {piece.where}" for piece in cut.pieces)
        words = f"  {cut.form} {number} of {told(cut.length)}: {pieces}; {told(cut.left)} left"
        console.print(words, highlight=False)


def _print_bulk(console: "Console", plan: "Plan") -> None:
    """What joints take in all, what is bought to have, and where manifolds are bought from."""
    from rillwright.report.parts_list import manifold_note

    console.print("")
    for line in plan.parts:
        if line.part.startswith(IN_BULK):
            console.print(f"{line.quantity:g} {line.part}: {line.why}", highlight=False)
    spares = [f"{line.spare:g} {line.part}" for line in plan.parts if line.spare]
    share = plan.yard.rules.spare_parts
    console.print(f"Spares, {share:.0%} of small parts: {', '.join(spares) or 'none'}", highlight=False)
    if note := manifold_note(plan):
        console.print(note, highlight=False)
