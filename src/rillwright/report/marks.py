"""The marks of a drawing: one plain shape for each head class, for valve places, water entry and controller."""

from rillwright.model.plan import Head
from rillwright.report.palette import MAIN
from rillwright.report.svg import Svg
from rillwright.report.text import SMALL

__all__ = ["HEAD_HALF", "MARK_HALF", "controller_mark", "entry_mark", "head_mark", "place_mark"]

HEAD_HALF = 1.1  # [mm] half the side of the square that a head's mark fills
MARK_HALF = 1.8  # [mm] the same of the other marks


def head_mark(svg: Svg, head: Head, x: float, y: float, colour: str) -> None:
    """Draw the mark of a head: a shape for its class, in the colour of its zone."""
    style: dict[str, str | float] = {"fill": "#ffffff", "stroke": colour, "stroke_width": 0.5}
    if head.head_class == "spray":
        svg.circle(x, y, 0.85, **style)
    elif head.head_class == "rotary":
        svg.polygon([(x, y - 1.05), (x + 0.95, y + 0.7), (x - 0.95, y + 0.7)], **style)
    elif head.head_class == "small rotor":
        svg.rect(x - 0.8, y - 0.8, 1.6, 1.6, **style)
    elif head.head_class == "mid rotor":
        svg.polygon([(x, y - 1.1), (x + 1.1, y), (x, y + 1.1), (x - 1.1, y)], **style)
    else:
        svg.rect(x - 1.1, y - 0.5, 2.2, 1.0, **style)


def place_mark(svg: Svg, x: float, y: float) -> None:
    """Draw the mark of a valve place."""
    svg.rect(x - 1.5, y - 1.5, 3.0, 3.0, fill="#ffffff", stroke=MAIN, stroke_width=0.55)
    svg.line([(x - 1.5, y - 1.5), (x + 1.5, y + 1.5)], stroke=MAIN, stroke_width=0.35)


def entry_mark(svg: Svg, x: float, y: float) -> None:
    """Draw the mark of the water entry."""
    svg.circle(x, y, MARK_HALF, fill=MAIN)
    svg.text(x, y + 0.92, "W", SMALL, fill="#ffffff", text_anchor="middle", font_weight="bold")


def controller_mark(svg: Svg, x: float, y: float) -> None:
    """Draw the mark of the controller."""
    svg.rect(x - 1.6, y - 1.6, 3.2, 3.2, fill=MAIN)
    svg.text(x, y + 0.92, "C", SMALL, fill="#ffffff", text_anchor="middle", font_weight="bold")
