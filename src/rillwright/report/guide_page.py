"""The build guide as one HTML page: the whole, one part for each work day to print, and every step in full."""

from rillwright.model.guide import Guide
from rillwright.model.plan import Plan
from rillwright.report.guide_words import guide_words
from rillwright.report.templating import render

__all__ = ["render_guide"]


def render_guide(guide: Guide, plan: Plan) -> str:
    """Write the page."""
    return render("guide.html", **guide_words(guide, plan))
