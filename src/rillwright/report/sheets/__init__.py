"""The drawing set on paper: sheets drawn to scale, schedules, lists and forms, each with its title block."""

from rillwright.report.sheets.drawing_set import COVER, KINDS, drawing_set, kinds_named
from rillwright.report.sheets.paper import PAPERS, paper_for, paper_named, scale_named
from rillwright.report.sheets.told import Taped, Told

__all__ = [
    "COVER",
    "KINDS",
    "PAPERS",
    "Taped",
    "Told",
    "drawing_set",
    "kinds_named",
    "paper_for",
    "paper_named",
    "scale_named",
]
