"""The `new-lawn` command. Heavy imports happen inside, so that --help is quick."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.options import Charts, Keep, PlanFile, weather_file

__all__ = ["new_lawn"]


def new_lawn(
    plan: PlanFile,
    kind: Annotated[str, typer.Option(help="seed or sod")] = "seed",
    start: Annotated[
        str, typer.Option(help="Day of sowing or laying, as 2027-08-25; the best window's middle else")
    ] = "",
    weather: Annotated[
        Path | None,
        typer.Option(help="Weather: .csv of days or months, .epw, TMY3; what is kept or the yard's own climate else"),
    ] = None,
    keep: Keep = False,
    out: Annotated[Path, typer.Option(help="Folder for calendar and table")] = Path("new-lawn"),
    force: Annotated[bool, typer.Option("--force", help="Replace files already in the folder")] = False,
    year: Annotated[
        int | None, typer.Option(help="Year, when no day is given; the next window else", min=2000, max=2200)
    ] = None,
    latitude: Annotated[float | None, typer.Option(help="Degrees, when nobody has said", min=-66, max=66)] = None,
    explain: Annotated[
        str, typer.Option(help="Number to show the working of, e.g. new-lawn.1.depth; 'all' lists them")
    ] = "",
    charts: Charts = None,
) -> None:
    """Say how to water a new lawn from seed or sod, stage by stage, when to sow, and what comes before."""
    from datetime import date

    from rillwright.cli.summary import explain_own, print_files
    from rillwright.cli.water_told import print_new_lawn, read_day, read_kind, weather_of
    from rillwright.jobs.watering import WaterTerms
    from rillwright.jobs.watering.new_lawn import make_new_lawn
    from rillwright.jobs.write import check_folder, read_plan, write_files
    from rillwright.model.catalogue import load_catalogue
    from rillwright.report.water.new_lawn import NEW_LAWN_FILES, new_lawn_files
    from rillwright.report.workings.new_lawn import new_lawn_workings

    if not explain:
        check_folder(out, force=force, names=NEW_LAWN_FILES)
    document, today = read_plan(plan), date.today()
    terms = WaterTerms(year=year or today.year, latitude=latitude)
    made = make_new_lawn(
        document,
        weather_of(weather_file(plan, weather, keep=keep), document),
        load_catalogue(charts=charts),
        terms,
        kind=read_kind(kind),
        start=read_day(start),
        after=today if year is None else date.min,
    )
    if explain:
        explain_own(document, new_lawn_workings(made, document.yard.units), explain, command="new-lawn")
        return
    files = write_files(new_lawn_files(made, document, today=today), out, force=force, names=NEW_LAWN_FILES)
    print_new_lawn(made, document.yard.units)
    print_files(files)
