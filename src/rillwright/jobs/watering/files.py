"""The files of a watering programme."""

from datetime import date

from rillwright.model.watering import WaterPlan
from rillwright.report.water import door_sheet, water_calendar, water_csv, water_page

__all__ = ["WATER_FILES", "water_files"]

WATER_FILES = ("water.json", "water.html", "door.pdf", "water.csv", "water.ics")


def water_files(made: WaterPlan, *, today: date, earlier: bytes | None = None) -> dict[str, bytes]:
    """Every file by name; today, the day on which the calendar says it was made; earlier, the calendar before it."""
    content = (
        made.model_dump_json(indent=1).encode(),
        water_page(made).encode(),
        door_sheet(made),
        water_csv(made).encode(),
        water_calendar(made, today=today, earlier=earlier),
    )
    return dict(zip(WATER_FILES, content, strict=True))
