"""The marks that stand for heads on a drawing: one plain shape for each head class."""

from rillwright.model.plan import Head
from rillwright.report.svg import Svg

__all__ = ["head_mark"]


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
        svg.polygon([(x, y - 1.2), (x + 1.2, y), (x, y + 1.2), (x - 1.2, y)], **style)
    else:
        svg.rect(x - 1.3, y - 0.5, 2.6, 1.0, **style)
