"""`rillwright try`: one head set otherwise, and what that changes."""

from typing import Annotated

import typer

from rillwright.cli.options import Charts, PlanFile
from rillwright.errors import InputError

__all__ = ["try_head"]


def try_head(
    plan: PlanFile,
    head: Annotated[str, typer.Argument(help="Head to set otherwise, e.g. H7")],
    at: Annotated[
        str, typer.Option(help="Where it would stand, 'X,Y' on the plan, e.g. '12.5,30' or '12 ft 6 in,30'")
    ] = "",
    start: Annotated[float | None, typer.Option(help="Where its arc would begin, degrees from the x axis")] = None,
    arc: Annotated[float | None, typer.Option(help="Its arc in degrees")] = None,
    charts: Charts = None,
) -> None:
    """Show what one head set otherwise would change in a plan: water, pressures, findings. The plan stays as it is."""
    from rillwright.cli.moved_told import print_moved, read_place
    from rillwright.jobs.move import Workbench
    from rillwright.jobs.write import read_plan
    from rillwright.model.catalogue import load_catalogue

    document = read_plan(plan)
    if not at and start is None and arc is None:
        raise InputError("say what to try: --at, --start or --arc")
    place = read_place(at, document.yard.units) if at else None
    bench = Workbench(document, load_catalogue(charts=charts))
    print_moved(document, bench.move(head, at=place, arc_start=start, arc=arc), head)
