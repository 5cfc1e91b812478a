"""The watering programme told: words, page, door sheet, table and calendar."""

from rillwright.report.water.calendar import water_calendar
from rillwright.report.water.page import door_sheet, water_page
from rillwright.report.water.table import water_csv

__all__ = ["door_sheet", "water_calendar", "water_csv", "water_page"]
