"""The watering programme at the command line: its options as typed, and what it says."""

import difflib
from pathlib import Path

from rich.console import Console
from rich.table import Table

from rillwright.cli.summary import print_keys, print_working
from rillwright.errors import InputError
from rillwright.exchange.weather import load_weather
from rillwright.jobs.watering import weather_of_yard
from rillwright.model.plan import Plan
from rillwright.model.watering import WaterPlan
from rillwright.model.weather import DailyWeather
from rillwright.physics.units import parse
from rillwright.report.water.words import water_words
from rillwright.report.workings.watering import water_workings

__all__ = ["explain_water", "print_water", "read_altitude", "weather_of"]

HIGHEST = 9000.0  # [m] that anybody lives at


def read_altitude(text: str) -> float | None:
    """Read an altitude as typed. Errors: InputError."""
    if not text:
        return None
    value = parse(text, "length")
    if not -500 <= value <= HIGHEST:
        raise InputError(f"--altitude {text}: write a height over the sea up to {HIGHEST:.0f} m")
    return value


def weather_of(path: Path | None, plan: Plan) -> DailyWeather:
    """Weather from a file, or from the yard's climate. Errors: InputError when there is neither."""
    return weather_of_yard(plan.yard) if path is None else load_weather(path)


def print_water(made: WaterPlan) -> None:
    """Print the programme: water first, then what to set, months, methods and findings."""
    console = Console()
    words = water_words(made)

    def say(text: str, style: str = "") -> None:
        console.print(text, highlight=False, markup=False, style=style, soft_wrap=True)

    say(f"Watering programme: {made.yard}, {words['season']}", "bold")
    say(words["headline"])
    say(words["weather"], "dim")
    for program in words["programs"]:
        say(f"\nProgram {program['name']}: starts {program['starts']}{program['after']}", "bold")
        table = _table("station", "zone", *(f">{name}" for name in words["month_names"]))
        for run in program["stations"]:
            table.add_row(run["station"], run["zone"], *run["minutes"])
        console.print(table)
    say(f"{words['clock']} Hours of a night: {words['opens']} to {words['closes']}.")
    table = _table("month", ">turf needs", ">rain", "nights", ">run", ">water", ">of the peak")
    for month in words["months"]:
        table.add_row(*(month[name] for name in ("name", "need", "rain", "nights", "run", "water", "percent")))
    say("")
    console.print(table)
    table = _table("minutes set", ">a season", ">least to most", ">days lacking", ">worst spot")
    for method in words["methods"]:
        table.add_row(*(method[name] for name in ("name", "water", "band", "over", "lack")))
    console.print(table)
    say(words["allowance"])
    for finding in made.findings:
        say(f"{finding.severity}: {finding.where}: {finding.what} {finding.do}")


def explain_water(made: WaterPlan, plan: Plan, what: str) -> None:
    """Print the working of one number of the programme, or all of them by name. Errors: InputError for none such."""
    workings = {working.key.lower(): working for working in water_workings(made)}
    wanted = what.strip().lower()
    if wanted == "all":
        print_keys(plan, {working.key: working for working in workings.values()})
        return
    if wanted not in workings:
        near = [key for key in workings if key.startswith(wanted)] or difflib.get_close_matches(wanted, workings, n=8)
        raise InputError(
            f"the programme holds no number named '{what}'. Near it: {', '.join(near[:8]) or 'none'}. "
            "--explain all lists them"
        )
    print_working(plan, workings[wanted])


def _table(*names: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="dim")
    for name in names:
        table.add_column(name.lstrip(">"), justify="right" if name.startswith(">") else "left")
    return table
