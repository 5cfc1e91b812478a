"""`rillwright guide`: the ordered steps of the build, a sheet for each work day."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.options import Charts, Prices

__all__ = ["guide"]


def guide(
    plan: Annotated[Path, typer.Argument(help="plan.json or its folder, or a yard, which is planned first")],
    start: Annotated[str, typer.Option(help="First day, as 2027-05-08")],
    out: Annotated[Path, typer.Option(help="Folder for the guide")] = Path("guide"),
    force: Annotated[bool, typer.Option("--force", help="Replace a guide already in the folder")] = False,
    days: Annotated[str, typer.Option(help="Days of the week on which is worked")] = "Sat,Sun",
    hours: Annotated[float, typer.Option(help="Hours of work on such a day, at the most")] = 7.0,
    crew: Annotated[int, typer.Option(help="People who work")] = 2,
    dig: Annotated[str, typer.Option(help="machine or hand")] = "machine",
    latitude: Annotated[float | None, typer.Option(help="Degrees, for daylight, when the yard has no origin")] = None,
    lost_days: Annotated[float | None, typer.Option(help="Chance that weather takes a day; by month else")] = None,
    log: Annotated[Path | None, typer.Option(help="Field log, for progress: JSON lines, one entry a line")] = None,
    charts: Charts = None,
    prices: Prices = None,
    seed: Annotated[int, typer.Option(help="Seed of every random choice", min=0)] = 0,
) -> None:
    """Write the build guide of a plan: ordered steps with times, cautions and dates, one sheet for each work day."""
    from rillwright.cli.guide_told import is_plan, print_guide, read_terms
    from rillwright.cli.summary import print_files
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.done import done_items
    from rillwright.jobs.guide import GUIDE_FILES, guide_files, make_guide, plan_steps
    from rillwright.jobs.write import check_folder, read_plan, write_files
    from rillwright.model.catalogue import load_catalogue

    terms = read_terms(start=start, days=days, hours=hours, crew=crew, dig=dig, latitude=latitude, lost_days=lost_days)
    check_folder(out, force=force, names=GUIDE_FILES)
    catalogue, entries = load_catalogue(charts=charts, prices=prices), load_log(log) if log else []
    if is_plan(plan):
        document = read_plan(plan)
    else:  # its sheets refer to the files of the plan
        from rillwright.cli.planned import plan_into
        from rillwright.exchange import load_yard

        document, _ = plan_into(load_yard(plan), catalogue, out, force=force, seed=seed)
    done = done_items(document, plan_steps(document, catalogue, terms), entries=entries)
    made = make_guide(document, catalogue, terms, done=done, seed=seed)
    files = write_files(guide_files(made, document), out, force=force, names=GUIDE_FILES)
    print_guide(made, document)
    print_files(files)
