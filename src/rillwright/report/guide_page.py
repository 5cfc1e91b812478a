"""The build guide as one HTML page: the whole, one part for each work day to print, and every step in full."""

from jinja2 import Environment, PackageLoader, StrictUndefined

from rillwright.model.guide import Guide
from rillwright.model.plan import Plan
from rillwright.report.guide_words import guide_words

__all__ = ["render_guide"]


def render_guide(guide: Guide, plan: Plan) -> str:
    """Write the page."""
    environment = Environment(
        loader=PackageLoader("rillwright.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("guide.html").render(guide_words(guide, plan))
