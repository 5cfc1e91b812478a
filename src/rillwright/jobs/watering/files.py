"""The files of a watering programme."""

from datetime import date

from rillwright.model.watering import WaterPlan
from rillwright.model.watering_asked import SoFar
from rillwright.report.water import door_sheet, water_calendar, water_csv, water_page

__all__ = ["WATER_FILES", "water_files"]

WATER_FILES = ("water.json", "water.html", "door.pdf", "water.csv", "water.ics")


def water_files(
    made: WaterPlan, *, today: date, so_far: SoFar | None = None, earlier: bytes | None = None
) -> dict[str, bytes]:
    """Every file by name.

    Parameters: today, the day on which the calendar says it was made; so_far, where the season stands, for the page;
    earlier, the calendar before it.
    """
    content = (
        made.model_dump_json(indent=1).encode(),
        water_page(made, so_far).encode(),
        door_sheet(made),
        water_csv(made).encode(),
        water_calendar(made, today=today, earlier=earlier),
    )
    return dict(zip(WATER_FILES, content, strict=True))
