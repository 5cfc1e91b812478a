"""The build guide at the command line: its terms as typed, its files, and a summary."""

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from pydantic import ValidationError
from rich.console import Console

from rillwright.cli.options import refused
from rillwright.cli.tables import plain_table
from rillwright.errors import InputError
from rillwright.model.as_built import AsBuilt
from rillwright.model.guide import WEEKDAYS, BuildTerms, Guide
from rillwright.model.plan import Plan
from rillwright.physics.units import show

__all__ = ["is_plan", "print_as_built", "print_guide", "read_terms"]


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
        raise refused(error, {"digging": "dig"}) from None


def print_guide(guide: Guide, plan: Plan) -> None:
    """Print the work days and the finish."""
    console = Console()
    titles = {step.id: step.title for step in guide.steps}
    table = plain_table("day", "date", "steps")
    for day in guide.days:
        named = "; ".join(titles[part.step] for part in day.parts)
        table.add_row(str(day.number), f"{day.day:%a} {day.day.day} {day.day:%b %Y}", named)
    console.print(f"Build guide: {plan.yard.name}", highlight=False)
    console.print(table)
    if guide.finish is not None and guide.band is not None:
        band = guide.band
        console.print(
            f"Done by {guide.finish} with mean times and no day lost, which {band.planned:.0%} of builds keep. Of "
            f"{band.samples} draws 10 in 100 are done by {band.early}, 50 by {band.middle}, 90 by {band.late}.",
            highlight=False,
        )
    for rental in guide.rentals:
        price = f"{rental.cost:.2f} {plan.yard.currency} ({rental.source})"
        console.print(f"Rent the {rental.machine} from {rental.first} to {rental.last}: {price}.", highlight=False)
    for text in guide.assumed:
        console.print(f"Assumed: {text}", highlight=False)


def print_as_built(record: AsBuilt, plan: Plan, files: Sequence[Path]) -> None:
    """Print how to find every part, and what the log does not hold yet."""
    console = Console()
    system = plan.yard.units
    for mark in record.marks:
        tapes = " and ".join(f"{show(o.distance, 'length', system)} from {o.corner}" for o in mark.offsets)
        error = "" if mark.error is None else f" (standard error {show(mark.error, 'depth', system)})"
        console.print(f"{mark.number} {mark.what}: {tapes or 'no two corners in sight'}{error}", highlight=False)
        if mark.by_wall is not None:
            wall = mark.by_wall
            along, off = (show(value, "length", system) for value in (wall.along, wall.off))
            error = show(wall.error, "depth", system)
            words = f"{along} from {wall.start} towards {wall.towards}, {off} square off the wall"
            console.print(f"  better: {words} (standard error {error})", highlight=False)
    for corner in record.corners:
        console.print(f"{corner.letter}: {corner.what}", highlight=False)
    for text in record.missing:
        console.print(f"Not known yet: {text}", highlight=False)
    console.print(f"\nWrote {', '.join(map(str, files))}.", highlight=False, soft_wrap=True)
