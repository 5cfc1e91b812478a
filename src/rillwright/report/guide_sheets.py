"""The build guide on paper: a sheet with the whole, then one sheet for each work day in plain large type."""

import json
from importlib import resources
from pathlib import Path
from typing import Any

import matplotlib as mpl
import typst

from rillwright.model.guide import Guide
from rillwright.model.plan import Plan
from rillwright.report.guide_words import guide_words

__all__ = ["guide_pdf"]

_PAPER = {"US": "us-letter", "metric": "a4"}


def guide_pdf(guide: Guide, plan: Plan) -> bytes:
    """Lay the guide out; the type of a day's sheet is the largest at which the day fits."""
    words = guide_words(guide, plan) | {"paper": _PAPER[plan.yard.units]}
    template = resources.files("rillwright.report") / "templates" / "guide.typ"
    files: Any = {"guide.json": json.dumps(words).encode(), "main": template.read_bytes()}
    fonts = Path(mpl.get_data_path()) / "fonts" / "ttf"
    return bytes(typst.compile(files, font_paths=[str(fonts)], ignore_system_fonts=True, timestamp=0))
