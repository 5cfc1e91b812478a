"""The `water` command. Heavy imports happen inside, so that --help is quick."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.options import Charts, PlanFile, recent_file, weather_file

__all__ = ["water"]


def water(
    plan: PlanFile,
    weather: Annotated[
        Path | None,
        typer.Option(help="Weather: .csv of days or months, .epw, TMY3; what is kept or the yard's own climate else"),
    ] = None,
    keep: Annotated[
        bool,
        typer.Option("--keep", help="Keep --weather in the plan's folder, and add --recent to the days kept there"),
    ] = False,
    out: Annotated[Path, typer.Option(help="Folder for the programme")] = Path("water"),
    force: Annotated[bool, typer.Option("--force", help="Replace a programme already in the folder")] = False,
    year: Annotated[
        int | None, typer.Option(help="Year of the calendar; this year when left out", min=2000, max=2200)
    ] = None,
    latitude: Annotated[
        float | None, typer.Option(help="Degrees, when neither weather nor yard say", min=-66, max=66)
    ] = None,
    altitude: Annotated[str, typer.Option(help="Over the sea, such as '900 ft', when neither says")] = "",
    yard: Annotated[
        Path | None, typer.Option(help="Yard file whose soil, turf, rules and climate hold now; the plan's own else")
    ] = None,
    recent: Annotated[
        Path | None,
        typer.Option(help="This season's days from its first on: what the next night needs; what is kept else"),
    ] = None,
    explain: Annotated[
        str, typer.Option(help="Number to show the working of, e.g. water.season; 'all' lists them")
    ] = "",
    what_if: Annotated[
        bool, typer.Option("--what-if", help="Only say what other evenness, mowing and soil would change")
    ] = False,
    charts: Charts = None,
    seed: Annotated[int, typer.Option(help="Seed of every random choice", min=0)] = 0,
) -> None:
    """Make the watering programme of a plan: minutes, nights, starts, calendar, water and cost."""
    from datetime import date

    from rillwright.cli.summary import explain_own, print_files
    from rillwright.cli.water_told import (
        last_day,
        print_so_far,
        print_water,
        print_what_ifs,
        read_altitude,
        weather_of,
    )
    from rillwright.errors import InputError
    from rillwright.exchange import load_yard
    from rillwright.exchange.weather import load_weather
    from rillwright.jobs.watering import WaterTerms, make_water_plan, with_growing_of
    from rillwright.jobs.watering.files import WATER_FILES, water_files
    from rillwright.jobs.watering.recent import so_far_or_why
    from rillwright.jobs.watering.whatif import what_ifs
    from rillwright.jobs.write import check_folder, read_plan, write_files
    from rillwright.model.catalogue import load_catalogue
    from rillwright.report.workings.watering import water_workings
    from rillwright.report.workings.watering_asked import so_far_workings, what_if_workings

    if not explain and not what_if:
        check_folder(out, force=force, names=WATER_FILES)
    document = with_growing_of(read_plan(plan), load_yard(yard) if yard else None)
    if keep and weather is None and recent is None:
        raise InputError("--keep: give what to keep with --weather or --recent")
    this_season = recent_file(plan, recent, keep=keep)
    today, this_year = date.today(), None if this_season is None else load_weather(this_season)
    now = today if recent is None or this_year is None else last_day(this_year)
    terms = WaterTerms(
        year=year or now.year,
        latitude=latitude,
        altitude=read_altitude(altitude),
        seed=seed,
    )
    days = weather_of(weather_file(plan, weather, keep=keep and weather is not None), document)
    catalogue, units = load_catalogue(charts=charts), document.yard.units
    if what_if:
        changes = what_ifs(document, days, catalogue, terms)
        if explain:
            explain_own(document, what_if_workings(changes, units), explain, command="water", option=" --what-if")
        else:
            print_what_ifs(changes, document.yard)
        return
    made = make_water_plan(document, days, catalogue, terms)
    so_far, why = so_far_or_why(document, made, this_year, catalogue, terms)
    if why and recent is not None:
        raise InputError(why)
    if explain:
        more = () if so_far is None else so_far_workings(so_far, made)
        explain_own(document, (*water_workings(made), *more), explain, command="water")
        return
    before = out / "water.ics"
    earlier = before.read_bytes() if before.is_file() else None
    files = write_files(
        water_files(made, today=today, so_far=so_far, earlier=earlier), out, force=force, names=WATER_FILES
    )
    print_water(made)
    print_so_far(so_far, why, made.units)
    print_files(files)
