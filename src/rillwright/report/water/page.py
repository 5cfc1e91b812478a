"""The programme as one HTML page, and the sheet for the controller's door as PDF."""

import json
from importlib import resources
from pathlib import Path
from typing import Any

import matplotlib as mpl
import typst

from rillwright.model.watering import WaterPlan
from rillwright.model.watering_asked import SoFar
from rillwright.report.templating import render
from rillwright.report.water.chart import draw_season
from rillwright.report.water.words import so_far_words, water_words

__all__ = ["door_sheet", "water_page"]

_PAPER = {"US": "us-letter", "metric": "a4"}


def water_page(made: WaterPlan, so_far: SoFar | None = None) -> str:
    """Write the page."""
    told = "" if so_far is None else so_far_words(so_far, made.units)
    return render("water.html", **water_words(made), so_far=told, chart=draw_season(made), day=made.series.year)


def door_sheet(made: WaterPlan) -> bytes:
    """Lay out the sheet for the controller's door: one page."""
    words = water_words(made) | {"paper": _PAPER[made.units]}
    template = resources.files("rillwright.report") / "templates" / "door.typ"
    files: Any = {"water.json": json.dumps(words).encode(), "main": template.read_bytes()}
    fonts = Path(mpl.get_data_path()) / "fonts" / "ttf"
    return bytes(typst.compile(files, font_paths=[str(fonts)], ignore_system_fonts=True, timestamp=0))
