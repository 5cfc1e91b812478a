"""The watering programme at the command line: its options as typed, and what it says."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import cast, get_args

from rich.console import Console

from rillwright.cli.tables import plain_table
from rillwright.errors import InputError
from rillwright.exchange.weather import load_weather
from rillwright.jobs.watering import weather_of_yard
from rillwright.model.new_lawn import NewLawn, NewLawnKind
from rillwright.model.plan import Plan
from rillwright.model.site import Yard
from rillwright.model.watering import WaterPlan
from rillwright.model.watering_asked import SoFar, WhatIf
from rillwright.model.weather import DailyWeather
from rillwright.physics.units import System, parse, show
from rillwright.report.water.words import so_far_words, water_words

__all__ = [
    "last_day",
    "print_new_lawn",
    "print_so_far",
    "print_water",
    "print_what_ifs",
    "read_altitude",
    "read_day",
    "read_kind",
    "weather_of",
]

HIGHEST = 9000.0  # [m] that anybody lives at


def read_altitude(text: str) -> float | None:
    """Read an altitude as typed. Errors: InputError."""
    if not text:
        return None
    value = parse(text, "length")
    if not -500 <= value <= HIGHEST:
        raise InputError(f"--altitude {text}: write a height over the sea up to {HIGHEST:,.0f} m, 29,500 ft")
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
        table = plain_table("station", "zone", *(f">{name}" for name in words["month_names"]), narrow=True)
        for run in program["stations"]:
            table.add_row(run["station"], run["zone"], *run["minutes"])
        console.print(table)
    say(f"{words['clock']} Hours of a night: {words['opens']} to {words['closes']}.")
    table = plain_table("month", ">turf needs", ">rain", "nights", ">run", ">water", ">of the peak", narrow=True)
    for month in words["months"]:
        table.add_row(*(month[name] for name in ("name", "need", "rain", "nights", "run", "water", "percent")))
    say("")
    console.print(table)
    table = plain_table("minutes set", ">a season", ">least to most", ">days lacking", ">worst spot", narrow=True)
    for method in words["methods"]:
        table.add_row(*(method[name] for name in ("name", "water", "band", "over", "lack")))
    console.print(table)
    say(words["allowance"])
    for finding in made.findings:
        say(f"{finding.severity}: {finding.where}: {finding.what} {finding.do}")


def read_day(text: str) -> date | None:
    """Read a day as typed; None for none. Errors: InputError."""
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise InputError(f"--start {text}: write a date as YEAR-MONTH-DAY, such as 2027-08-25") from None


def read_kind(text: str) -> NewLawnKind:
    """Read how a lawn is made. Errors: InputError."""
    for kind in get_args(NewLawnKind):
        if text == kind:
            return cast(NewLawnKind, kind)
    raise InputError(f"--kind {text}: write {' or '.join(get_args(NewLawnKind))}")


def print_new_lawn(made: NewLawn, units: System) -> None:
    """Print windows, stages and events of a new lawn."""
    console = Console()

    def say(text: str, style: str = "") -> None:
        console.print(text, highlight=False, markup=False, style=style, soft_wrap=True)

    say(f"New lawn from {made.kind}: {made.yard}, {made.start}", "bold")
    if made.windows:
        told = "; ".join(f"{w.first} to {w.last}" for w in made.windows)
        say(f"Seed does well four years in five, by this weather, from {told}.")
    table = plain_table(
        "stage",
        "days",
        ">runs a day",
        "starts",
        ">depth",
        *(f">{z} min" for z in made.stages[0].seconds),
        narrow=True,
    )
    for stage in made.stages:
        minutes = [f"{seconds / 60:.0f}" for seconds in stage.seconds.values()]
        depth = show(stage.depth, "depth", units)
        days = f"{stage.first} to {stage.last}"  # wraps at its spaces
        table.add_row(stage.name, days, str(stage.runs), " ".join(stage.starts), depth, *minutes)
    console.print(table)
    for event in made.events:
        say(f"{event.day}  {event.what}")
    for note in made.notes:
        say(note, "dim")


def print_what_ifs(found: Sequence[WhatIf], yard: Yard) -> None:
    """Print what each change would do to a season's water, and to what it costs where the yard has a tariff."""
    units, priced = yard.units, found[0].cost is not None
    cost = (f">{yard.currency}",) if priced else ()
    columns = ("what if", ">a season", ">saved", *cost, ">nights", ">turf reaches", "how")
    table = plain_table(*columns, narrow=True)
    for one in found:
        water, saved = (show(value, "season volume", units) for value in (one.water, one.saved))
        price = () if one.cost is None else (f"{one.cost:.2f}",)
        table.add_row(one.what, water, saved, *price, f"{one.nights:.0f}", show(one.holds, "depth", units), one.why)
    Console().print(table)


def last_day(weather: DailyWeather) -> date:
    """The last day of some weather."""
    return date.fromisoformat(str(weather.days[-1]))


def print_so_far(told: SoFar | None, why: str, units: System) -> None:
    """Print where the season stands and what the next night needs, or why that is not told."""
    if told is None:
        words, style = why, "dim"
    else:
        words, style = so_far_words(told, units), "bold"
    if words:
        Console().print(words, highlight=False, markup=False, style=style, soft_wrap=True)
