"""`rillwright winter`: what freezes, how it is drained and blown out, when, and how spring begins."""

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.options import Charts, Keep, PlanFile, winter_weather

__all__ = ["winter"]


def winter(
    plan: PlanFile,
    weather: Annotated[
        Path | None, typer.Option(help="Daily weather of several whole winters, .csv; what is kept else")
    ] = None,
    keep: Keep = False,
    compressor: Annotated[
        str, typer.Option(help="small, workshop, large, towable, or yours: '20 gal, 5 cfm at 90 psi, 135 psi'")
    ] = "workshop",
    freezing_index: Annotated[str, typer.Option(help="Of a hard winter, e.g. '1200 F-day', without a record")] = "",
    mean_temperature: Annotated[str, typer.Option(help="Of the year, e.g. '46 F', with --freezing-index")] = "",
    snow: Annotated[str, typer.Option(help="That lies on the lawn in a hard frost, e.g. '8 in'")] = "",
    lagged: Annotated[bool, typer.Option("--lagged", help="Half an inch of foam is round what stands outside")] = False,
    tonight: Annotated[str, typer.Option(help="Least temperature foretold for tonight, e.g. '-4 C'")] = "",
    today: Annotated[str, typer.Option(help="Highest temperature today, with --tonight")] = "",
    season: Annotated[
        int | None, typer.Option(help="Year in which the winter begins; this one when left out", min=1900, max=2200)
    ] = None,
    southern: Annotated[
        bool, typer.Option("--southern", help="South of the equator, when the yard has no origin")
    ] = False,
    log: Annotated[Path | None, typer.Option(help="Field log, for pipes as they lie: JSON lines")] = None,
    explain: Annotated[
        str, typer.Option(help="Number to show the working of, e.g. winter.frost.turf.design; 'all' lists them")
    ] = "",
    out: Annotated[Path | None, typer.Option(help="Folder for the card to print, winter.pdf")] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a card already in the folder")] = False,
    charts: Charts = None,
) -> None:
    """Say what freezes, when to drain, how to blow out zone by zone, what to do tonight, and how spring begins."""
    from rillwright.cli.summary import explain_own
    from rillwright.cli.winter_told import print_card
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.winter import WINTER_FILES, make_winter, winter_files
    from rillwright.jobs.winter_terms import WinterWords, read_terms
    from rillwright.jobs.write import check_folder, read_plan, write_files
    from rillwright.model.catalogue import load_catalogue
    from rillwright.report.winter_card import winter_card
    from rillwright.report.workings.winter import winter_workings

    document = read_plan(plan)
    if out is not None:
        check_folder(out, force=force, names=WINTER_FILES)
    record = winter_weather(plan, weather, keep=keep)
    words = WinterWords(
        compressor=compressor,
        freezing_index=freezing_index,
        mean_temperature=mean_temperature,
        snow=snow,
        tonight=tonight,
        today=today,
        lagged=lagged,
        southern=southern,
        season=season,
    )
    terms = read_terms(words, yard=document.yard, weather=record, today=date.today(), prefix="--")
    entries = load_log(log) if log else []
    found, _ = make_winter(document, load_catalogue(charts=charts), terms, entries)
    if explain:
        explain_own(document, winter_workings(found, document), explain, command="winter")
        return
    card = winter_card(found, document)
    print_card(card)
    if out is not None:
        files = write_files(winter_files(found, card, document), out, force=force, names=WINTER_FILES)
        typer.echo(f"\nWrote {', '.join(map(str, files))}.")
