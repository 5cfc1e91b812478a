"""What is in the ground of a yard part-built, on the plan sheet: quiet marks under those of the plan."""

from rillwright.model.plan import Plan
from rillwright.report.column import Column
from rillwright.report.palette import SOFT
from rillwright.report.scale import View
from rillwright.report.svg import Svg

__all__ = ["draw_existing", "existing_legend"]

_HALF = 1.5  # [mm] half the width of a cross or square
_DASH = "0.5 0.9"


def draw_existing(svg: Svg, plan: Plan, view: View) -> None:
    """Draw pipes dotted, heads as crosses, valve places as dotted squares."""
    svg.layer("existing")
    for pipe in plan.yard.existing.pipes:
        _pipe(svg, [view.xy(x, y) for x, y in pipe.path])
    for place in plan.yard.existing.places:
        _place(svg, *view.xy(*place.at))
    for head in plan.yard.existing.heads:
        _head(svg, *view.xy(*head.at))


def existing_legend(column: Column, plan: Plan) -> None:
    """Explain the marks that the drawing shows."""
    existing = plan.yard.existing
    if existing.pipes:
        x, y = column.entry("pipe in the ground already")
        _pipe(column.svg, [(x - 3.2, y), (x + 4.2, y)])
    if existing.heads:
        _head(column.svg, *column.entry("head in the ground already"))
    if existing.places:
        _place(column.svg, *column.entry("valve place in the ground already"))


def _pipe(svg: Svg, path: list[tuple[float, float]]) -> None:
    svg.line(path, stroke=SOFT, stroke_width=0.9, stroke_dasharray=_DASH)


def _head(svg: Svg, x: float, y: float) -> None:
    for side in (1, -1):
        svg.line([(x - _HALF, y - side * _HALF), (x + _HALF, y + side * _HALF)], stroke=SOFT, stroke_width=0.3)


def _place(svg: Svg, x: float, y: float) -> None:
    half = 1.4 * _HALF
    svg.rect(x - half, y - half, 2 * half, 2 * half, fill="none", stroke=SOFT, stroke_width=0.4, stroke_dasharray=_DASH)
