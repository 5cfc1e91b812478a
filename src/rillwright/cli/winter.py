"""`rillwright winter`: what freezes, how it is drained and blown out, when, and how spring begins."""

import difflib
import re
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.table import Table

from rillwright.errors import InputError

if TYPE_CHECKING:
    from rillwright.jobs.winter import Record
    from rillwright.model.winter import Compressor
    from rillwright.model.winter_card import WinterCard

__all__ = ["print_card", "read_compressor", "winter"]

_FREE = re.compile(r"(?P<air>.+?)\s+at\s+(?P<at>.+)", re.IGNORECASE)


def winter(
    plan: Annotated[Path, typer.Argument(help="plan.json or its folder")],
    weather: Annotated[Path | None, typer.Option(help="Daily weather of several years: CSV, EPW or TMY3")] = None,
    compressor: Annotated[
        str, typer.Option(help="small, workshop, large, towable, or yours: '20 gal, 5 cfm at 90 psi, 135 psi'")
    ] = "workshop",
    freezing_index: Annotated[str, typer.Option(help="Of a hard winter, e.g. '1200 F-day', without a record")] = "",
    mean_temperature: Annotated[str, typer.Option(help="Of the year, e.g. '46 F', with --freezing-index")] = "",
    snow: Annotated[str, typer.Option(help="That lies on the lawn in a hard frost, e.g. '8 in'")] = "",
    lagged: Annotated[bool, typer.Option("--lagged", help="Half an inch of foam is round what stands outside")] = False,
    tonight: Annotated[str, typer.Option(help="Least temperature foretold for tonight, e.g. '-4 C'")] = "",
    today: Annotated[str, typer.Option(help="Highest temperature today, with --tonight")] = "",
    season: Annotated[int | None, typer.Option(help="Year in which the winter begins; this one when left out")] = None,
    southern: Annotated[
        bool, typer.Option("--southern", help="South of the equator, when the yard has no origin")
    ] = False,
    log: Annotated[Path | None, typer.Option(help="Field log, for pipes as they lie: JSON lines")] = None,
    explain: Annotated[str, typer.Option(help="Number to show the working of, e.g. winter.frost.turf.design")] = "",
    out: Annotated[Path | None, typer.Option(help="Folder for the card to print, winter.pdf")] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a card already in the folder")] = False,
    charts: Annotated[Path | None, typer.Option(help="Your nozzle charts, CSV")] = None,
) -> None:
    """Say what freezes, when to drain, how to blow out zone by zone, what to do tonight, and how spring begins."""
    from rillwright.cli.summary import print_working
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.winter import WINTER_FILES, WinterTerms, make_winter, winter_files
    from rillwright.jobs.write import check_folder, read_plan, write_files
    from rillwright.model.catalogue import load_catalogue
    from rillwright.report.winter_card import winter_card
    from rillwright.report.workings.winter import winter_workings

    document = read_plan(plan)
    if out is not None:
        check_folder(out, force=force, names=WINTER_FILES)
    today_is = date.today()
    origin = document.yard.origin
    terms = WinterTerms(
        compressor=read_compressor(compressor),
        record=_record(weather),
        index=_typed(freezing_index, "freezing index", "--freezing-index", low=0.0, high=1e9),
        mean=_typed(mean_temperature, "temperature", "--mean-temperature", low=223.15, high=313.15),
        snow=_typed(snow, "depth", "--snow", low=0.0, high=5.0) or 0.0,
        lagged=lagged,
        season=season if season is not None else today_is.year - (today_is.month < 4),
        southern=southern or (origin is not None and origin.lat < 0),
        tonight=_typed(tonight, "temperature", "--tonight", low=203.15, high=313.15),
        today=_typed(today, "temperature", "--today", low=203.15, high=323.15),
    )
    if terms.index is not None and terms.mean is None and terms.record is None:
        raise InputError("--freezing-index needs --mean-temperature beside it, the mean of the year, e.g. '46 F'")
    entries = load_log(log) if log else []
    found = make_winter(document, load_catalogue(charts=charts), terms, entries)
    if explain:
        workings = {working.key.lower(): working for working in winter_workings(found, document)}
        wanted = explain.strip().lower()
        if wanted not in workings:
            near = [k for k in workings if k.startswith(wanted)] or difflib.get_close_matches(wanted, workings, n=8)
            raise InputError(f"winter holds no number named '{explain}'. Near it: {', '.join(near[:8]) or 'none'}.")
        print_working(document, workings[wanted])
        return
    card = winter_card(found, document)
    print_card(card)
    if out is not None:
        files = write_files(winter_files(found, card, document), out, force=force, names=WINTER_FILES)
        typer.echo(f"\nWrote {', '.join(map(str, files))}.")


def read_compressor(words: str) -> "Compressor":
    """A compressor of the table by its name, or the user's own: tank, air at a pressure, cut-out, parted by commas."""
    from rillwright.model.winter_tables import compressor_of, load_winter
    from rillwright.physics.units import FOOT, INCH, parse

    table = load_winter().compressors
    if words.strip().lower() in table:
        return table[words.strip().lower()]
    parts = [part.strip() for part in words.split(",")]
    free = _FREE.fullmatch(parts[1]) if len(parts) == 3 else None
    if free is None:
        raise InputError(
            f"--compressor {words}: write one of {', '.join(table)}, or tank, air and cut-out as "
            "'20 gal, 5 cfm at 90 psi, 135 psi' or '75 L, 140 L/min at 620 kPa, 930 kPa'"
        )
    tank, air = parse(parts[0], "volume"), parse(free["air"], "air flow")
    at, cut_out = parse(free["at"], "pressure"), parse(parts[2], "pressure")
    if not (1e-3 <= tank <= 5 and 1e-5 <= air <= 1 and 1e5 <= at <= 2e6 and 1.5e5 <= cut_out <= 2e6):
        raise InputError(
            f"--compressor {words}: a tank of 1 to 5,000 L, air of 0.6 to 60,000 L/min and pressures of 100 (cut-out "
            "150) to 2,000 kPa can be reckoned with"
        )
    return compressor_of(
        "your own", tank=tank, air=air, air_at=at, cut_out=cut_out, hose_length=50 * FOOT, hose_bore=0.375 * INCH
    )


def print_card(card: "WinterCard") -> None:
    """Print the card: headline, tonight, what to do, figures."""
    console = Console()

    def say(text: str, style: str = "") -> None:
        console.print(text, highlight=False, markup=False, style=style)

    say(card.headline, "bold")
    for part in ((card.tonight,) if card.tonight else ()) + card.parts:
        say(f"\n{part.title}", "bold")
        for line in part.cautions:
            say(f"  Caution: {line}")
        for line in part.says:
            say(f"  {line}")
        for line in part.steps:
            say(f"  - {line}")
    for told in card.tables:
        say(f"\n{told.title}", "bold")
        table = Table(box=None, pad_edge=False, header_style="dim")
        for column in told.columns:
            table.add_column(column)
        for row in told.rows:
            table.add_row(*row)
        console.print(table)
        if told.note:
            say(told.note, "dim")
        if told.keys:
            say(f"Working: --explain {told.keys[0]}", "dim")
    for line in card.assumed:
        say(f"\n{line}", "dim")


def _typed(text: str, dimension: str, option: str, *, low: float, high: float) -> float | None:
    """A quantity as typed, None where nothing was; within what makes sense."""
    from rillwright.errors import UnitError
    from rillwright.physics.units import parse, show

    if not text:
        return None
    try:
        value = parse(text, dimension)
    except UnitError as error:
        raise InputError(f"{option}: {error}") from None
    if not low <= value <= high:
        ends = (show(low, dimension, "metric"), show(high, dimension, "metric"))
        raise InputError(f"{option} {text}: write a value from {ends[0]} to {ends[1]}")
    return value


def _record(weather: Path | None) -> "Record | None":
    from rillwright.exchange.weather import load_weather
    from rillwright.jobs.winter import record_of

    return None if weather is None else record_of(load_weather(weather))
