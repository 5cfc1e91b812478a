"""What a head wets, as a shape on the ground."""

from shapely.affinity import rotate, translate
from shapely.geometry import Polygon, box

from rillwright.model.parts import strip_reach
from rillwright.model.plan import Head, NozzleUsed

__all__ = ["strip_outline"]


def strip_outline(head: Head, nozzle: NozzleUsed) -> Polygon:
    """The rectangle on the ground that a strip pattern waters."""
    behind, ahead, right, left = strip_reach(nozzle.pattern, length=head.radius, width=nozzle.width)
    (x, y), turned = head.at, rotate(box(-behind, -right, ahead, left), head.arc_start, origin=(0, 0))
    return translate(turned, x, y)
