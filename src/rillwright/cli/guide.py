"""The build guide at the command line: its terms as typed, its files, and a summary."""

import json
from datetime import date
from pathlib import Path

from pydantic import ValidationError
from rich.console import Console
from rich.table import Table

from rillwright.errors import InputError
from rillwright.model.guide import WEEKDAYS, BuildTerms, Guide
from rillwright.model.plan import Plan

__all__ = ["is_plan", "print_guide", "read_terms"]


def is_plan(path: Path) -> bool:
    """Whether a path holds a plan, or a folder with one, rather than a yard."""
    file = path / "plan.json" if path.is_dir() else path
    try:
        found = json.loads(file.read_bytes())
    except (OSError, ValueError):
        return path.is_dir()
    return isinstance(found, dict) and found.get("format") == "rillwright-plan"


def read_terms(
    *,
    start: str,
    days: str,
    hours: float,
    crew: int,
    dig: str,
    latitude: float | None,
    lost_days: float | None,
) -> BuildTerms:
    """Read the terms as typed. Errors: InputError that names the option, what stands there and what may stand."""
    try:
        day = date.fromisoformat(start)
    except ValueError:
        raise InputError(f"--start {start}: write a date as YEAR-MONTH-DAY, such as 2027-05-08") from None
    names = [name.strip()[:3].title() for name in days.split(",") if name.strip()]
    wrong = [name for name in names if name not in WEEKDAYS]
    if wrong or not names:
        raise InputError(f"--days {days}: write days of the week with commas, such as {','.join(WEEKDAYS)}")
    given = {"start": day, "days": tuple(dict.fromkeys(names)), "hours": hours, "crew": crew, "digging": dig}
    try:
        return BuildTerms.model_validate(given | {"latitude": latitude, "lost_days": lost_days})
    except ValidationError as error:
        option = {"digging": "dig", "lost_days": "lost-days"}
        first = error.errors()[0]
        name = str(first["loc"][0])
        raise InputError(f"--{option.get(name, name)} {first['input']}: {first['msg'].lower()}") from None


def print_guide(guide: Guide, plan: Plan) -> None:
    """Print the work days and the finish."""
    console = Console()
    titles = {step.id: step.title for step in guide.steps}
    table = Table(box=None, pad_edge=False, header_style="dim")
    for column in ("day", "date", "steps"):
        table.add_column(column)
    for day in guide.days:
        named = "; ".join(titles[part.step] for part in day.parts)
        table.add_row(str(day.number), f"{day.day:%a} {day.day.day} {day.day:%b %Y}", named)
    console.print(f"Build guide: {plan.yard.name}", highlight=False)
    console.print(table)
    if guide.finish is not None and guide.band is not None:
        console.print(
            f"Done by {guide.finish} with mean times and no day lost; of {guide.band.samples} draws 10 in 100 are done "
            f"by {guide.band.early}, 50 by {guide.band.middle}, 90 by {guide.band.late}.",
            highlight=False,
        )
    for rental in guide.rentals:
        price = f"{rental.cost:.2f} {plan.yard.currency} ({rental.source})"
        console.print(f"Rent the {rental.machine} from {rental.first} to {rental.last}: {price}.", highlight=False)
    for text in guide.assumed:
        console.print(f"Assumed: {text}", highlight=False)
