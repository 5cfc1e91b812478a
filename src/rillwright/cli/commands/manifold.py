"""`rillwright manifold`: valve manifolds put together on paper before a pipe is cut."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.exits import DOES_NOT_FIT
from rillwright.cli.options import PlanFile, Prices

__all__ = ["manifold"]


def manifold(
    plan: PlanFile,
    out: Annotated[Path, typer.Option(help="Folder for drawings and cut lists")] = Path("manifold"),
    force: Annotated[bool, typer.Option("--force", help="Replace files already in the folder")] = False,
    place: Annotated[str, typer.Option(help="Valve place, e.g. V1; all when left out")] = "",
    unions: Annotated[
        str, typer.Option(help="of each valve: 'both sides', outlet or none; the yard's own when left out")
    ] = "",
    isolating: Annotated[
        bool | None,
        typer.Option("--isolating/--no-isolating", help="A shut-off of it all; the yard's own when left out"),
    ] = None,
    drain: Annotated[
        bool | None,
        typer.Option("--drain/--no-drain", help="A drain leg at the header's end; as planned when left out"),
    ] = None,
    blow_out: Annotated[
        bool | None,
        typer.Option("--blow-out/--no-blow-out", help="A fitting for compressed air; as planned when left out"),
    ] = None,
    rows: Annotated[str, typer.Option(help="Valves on 'one side' of the header or on 'both sides'")] = "one side",
    order: Annotated[
        str, typer.Option(help="Valves in order of their stations, or in the shortest order")
    ] = "stations",
    spacing: Annotated[
        str, typer.Option(help="Valve to valve, axis to axis, e.g. '6 in'; the least when left out")
    ] = "",
    material: Annotated[str, typer.Option(help="Pipe of the header; as the main when left out")] = "",
    height: Annotated[
        str, typer.Option(help="Critical level of vacuum breakers over the ground; as planned else")
    ] = "",
    space: Annotated[str, typer.Option(help="Room it is given: 'LENGTH x WIDTH x DEPTH'; a box is chosen else")] = "",
    bodies: Annotated[Path | None, typer.Option(help="What your valves and devices measure, CSV")] = None,
    prices: Prices = None,
    wall: Annotated[str, typer.Option(help="Kept clear of the wall along the space's length, e.g. '3 in'")] = "",
    explain: Annotated[str, typer.Option(help="Number to show the working of, e.g. V1.gap.Z1-Z2; writes nothing")] = "",
    door: Annotated[
        list[str] | None, typer.Option(help="'X, Y, RADIUS' of a door's swing in the space; repeat")
    ] = None,
    tap: Annotated[list[str] | None, typer.Option(help="'X, Y' of a hose tap in the space; repeat")] = None,
) -> None:
    """Put valve manifolds together: spacing, cut list to the tape's mark, dimensioned drawing, and whether it fits."""
    from rillwright.cli.manifold_told import explain_manifold, print_manifold, read_space, read_terms, tape
    from rillwright.cli.summary import print_files
    from rillwright.jobs.manifold import MANIFOLD_FILES, make_manifolds, manifold_files
    from rillwright.jobs.write import check_folder, read_plan, write_files
    from rillwright.model.bench_parts import load_bodies
    from rillwright.model.catalogue import load_catalogue

    document = read_plan(plan)
    system = document.yard.units
    terms = read_terms(
        unions=unions or document.yard.valves.unions,
        isolating=document.yard.valves.isolating if isolating is None else isolating,
        drain=drain,
        blow_out=blow_out,
        rows=rows,
        order=order,
        spacing=tape("--spacing", spacing, system) if spacing else None,
        material=material or None,
        height=tape("--height", height, system) if height else None,
        space=read_space(space, wall=wall, doors=door or (), taps=tap or (), system=system),
    )
    made = make_manifolds(
        document, load_catalogue(prices=prices), terms, place=place or None, bodies=load_bodies(bodies)
    )
    if explain:
        explain_manifold(made, document, explain)
        return
    named = {one.place: "" if len(made) == 1 else f"{one.place}-" for one in made}
    names = [f"{prefix}{name}" for prefix in named.values() for name in MANIFOLD_FILES]
    check_folder(out, force=force, names=names)
    for one in made:
        print_manifold(one, document)
    if any(finding.severity == "must" for one in made for finding in one.findings):
        typer.echo("\nNothing was written: mend first what must be mended.")
        raise typer.Exit(DOES_NOT_FIT)
    content = {
        f"{named[one.place]}{name}": data for one in made for name, data in manifold_files(one, document).items()
    }
    print_files(write_files(content, out, force=force, names=names))
