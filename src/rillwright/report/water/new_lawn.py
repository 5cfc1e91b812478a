"""A new lawn's course as a calendar and a table."""

import csv
import io
from datetime import date, timedelta

from icalendar import Calendar

from rillwright.model.new_lawn import NewLawn
from rillwright.model.plan import Plan
from rillwright.physics.units import to_system, unit_name
from rillwright.report.water.calendar import new_calendar, stable_event

__all__ = ["NEW_LAWN_FILES", "new_lawn_files"]

NEW_LAWN_FILES = ("new-lawn.json", "new-lawn.csv", "new-lawn.ics")


def new_lawn_files(made: NewLawn, plan: Plan, *, today: date) -> dict[str, bytes]:
    """Every file by name; today, the day on which the calendar says it was made."""
    content = (made.model_dump_json(indent=1).encode(), _table(made, plan).encode(), _calendar(made, today).to_ical())
    return dict(zip(NEW_LAWN_FILES, content, strict=True))


def _table(made: NewLawn, plan: Plan) -> str:
    system = plan.yard.units
    depth = unit_name("depth", system)
    out = io.StringIO()
    writer = csv.writer(out)
    zones = list(made.stages[0].seconds)
    head = ["stage", "from", "to", "runs a day", "starts", f"depth of a run ({depth})", f"used a day ({depth})"]
    writer.writerow([*head, *(f"{zone} (min)" for zone in zones)])
    for stage in made.stages:
        depths = [f"{to_system(value, 'depth', system):.3f}" for value in (stage.depth, stage.use)]
        minutes = [f"{stage.seconds[zone] / 60:.0f}" for zone in zones]
        writer.writerow([stage.name, stage.first, stage.last, stage.runs, " ".join(stage.starts), *depths, *minutes])
    return out.getvalue()


def _calendar(made: NewLawn, today: date) -> Calendar:
    cal = new_calendar(f"New lawn: {made.yard}")
    for number, told in enumerate(made.events):
        event = stable_event(f"new lawn {made.yard} {made.kind} {number}", today)
        event.add("dtstart", told.day)
        event.add("dtend", told.day + timedelta(days=1))
        event.add("summary", told.what)
        event.add("transp", "TRANSPARENT")
        cal.add_component(event)
    return cal
