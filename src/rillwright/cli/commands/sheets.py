"""The `sheets` command. Heavy imports happen inside, so that --help is quick."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rillwright.cli.options import Charts, PlanFile, Prices, winter_weather
from rillwright.errors import InputError

if TYPE_CHECKING:
    from datetime import date

__all__ = ["sheets"]


def sheets(
    plan: PlanFile,
    out: Annotated[Path, typer.Option(help="Folder for the set")] = Path("sheets"),
    force: Annotated[bool, typer.Option("--force", help="Replace a set already in the folder")] = False,
    paper: Annotated[str, typer.Option(help="a4, a3, letter or tabloid; a4 or letter by the yard's units")] = "",
    scale: Annotated[str, typer.Option(help="Of the drawings: 1:100, or '1 in = 10 ft'; the best when left out")] = "",
    only: Annotated[str, typer.Option(help="Some sheets alone, such as 'cover,heads'; all when left out")] = "",
    date: Annotated[str, typer.Option(help="For the title blocks, as 2027-05-08; a line to write on else")] = "",
    address: Annotated[str, typer.Option(help="Of the plan in the page while it is served: its code is printed")] = "",
    weather: Annotated[
        Path | None, typer.Option(help="Daily weather of several whole winters, for the dates of the winter card")
    ] = None,
    svg: Annotated[bool, typer.Option("--svg", help="Each sheet as SVG too")] = False,
    charts: Charts = None,
    prices: Prices = None,
) -> None:
    """Print a plan as a set of sheets, true to scale on your paper: drawings, schedules, parts, steps and a form."""
    from dataclasses import replace
    from datetime import date as date_

    from rillwright.jobs.sheets import SetTerms, check_set, set_files
    from rillwright.jobs.winter_terms import WinterWords, read_terms
    from rillwright.jobs.write import read_plan, write_files
    from rillwright.model.catalogue import load_catalogue
    from rillwright.report.sheets import kinds_named, paper_named, scale_named

    terms = SetTerms(
        paper=paper_named(paper) if paper else None,
        scale=scale_named(scale) if scale else None,
        kinds=kinds_named([name.strip() for name in only.split(",") if name.strip()]),
        day=_day(date) if date else None,
        address=address,
    )
    names, document = check_set(out, force=force), read_plan(plan)
    record = winter_weather(plan, weather, keep=False)
    if record is not None:
        today = terms.day or date_.today()
        terms = replace(terms, winter=read_terms(WinterWords(), yard=document.yard, weather=record, today=today))
    files = set_files(document, load_catalogue(charts=charts, prices=prices), terms, svg=svg)
    written = write_files(files, out, force=True, names=names)
    typer.echo(f"Wrote {written[0]}" + (f" and {len(written) - 1} SVG sheets" if svg else ""))


def _day(text: str) -> "date":
    from datetime import date

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"--date {text}: write a date as YEAR-MONTH-DAY, such as 2027-05-08") from None
