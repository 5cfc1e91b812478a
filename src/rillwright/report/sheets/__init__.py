"""The drawing set on paper: sheets drawn to scale, schedules, lists and forms, each with its title block."""

from rillwright.report.sheets.drawing_set import COVER, KINDS, Kind, drawing_set, kinds_named
from rillwright.report.sheets.paper import PAPERS, PaperName, paper_for, paper_named, scale_named
from rillwright.report.sheets.told import Taped, Told

__all__ = [
    "COVER",
    "KINDS",
    "PAPERS",
    "Kind",
    "PaperName",
    "Taped",
    "Told",
    "drawing_set",
    "kinds_named",
    "paper_for",
    "paper_named",
    "scale_named",
]
