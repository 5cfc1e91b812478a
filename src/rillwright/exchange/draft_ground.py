"""What can be read of the ground of a yard that is only half drawn."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import TypeAdapter, ValidationError

from rillwright.errors import Problem, YardError
from rillwright.exchange.yard_file import check_heading
from rillwright.model.quantities import XY
from rillwright.model.site import SpotHeight
from rillwright.model.terrain import Terrain
from rillwright.physics.units import System

__all__ = ["DraftGround", "read_ground"]

_RING: TypeAdapter[list[tuple[float, float]]] = TypeAdapter(list[XY])
_LEAST = 1.0  # [m] width and height of the ground that is shown


@dataclass(frozen=True, slots=True)
class DraftGround:
    """Heights of a draft, and how far it reaches."""

    terrain: Terrain
    extent: tuple[float, float, float, float]  # least x, least y, greatest x, greatest y [m]
    units: System
    spots: int  # heights that could be read


def read_ground(document: Mapping[str, Any]) -> DraftGround:
    """Read the spot heights and outlines of a document; what cannot be read yet is left out.

    Errors: YardError when the heading is wrong, or there is not one height or outline to go by.
    """
    check_heading(document, source="the yard")
    system: System = document["units"]
    spots = {spot.at: spot.height for spot in _spots(document, system)}
    corners = [*spots, *(corner for ring in _rings(document, system) for corner in ring)]
    if not corners:
        raise YardError("the yard", (Problem("areas", "nothing drawn", "Draw an area or a spot height first"),))
    xs, ys = zip(*corners, strict=True)
    middle_x, middle_y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    half_x, half_y = (max(_LEAST, max(side) - min(side)) / 2 for side in (xs, ys))
    extent = (middle_x - half_x, middle_y - half_y, middle_x + half_x, middle_y + half_y)
    return DraftGround(Terrain(list(spots), list(spots.values())), extent, system, len(spots))


def _spots(document: Mapping[str, Any], system: System) -> Iterator[SpotHeight]:
    items = document.get("spot_heights")
    for item in items if isinstance(items, list) else ():
        try:
            yield SpotHeight.model_validate(item, context={"units": system})
        except ValidationError:
            continue


def _rings(document: Mapping[str, Any], system: System) -> Iterator[list[tuple[float, float]]]:
    areas = document.get("areas")
    for area in areas if isinstance(areas, list) else ():
        try:
            yield _RING.validate_python(
                area.get("outline") if isinstance(area, dict) else None, context={"units": system}
            )
        except ValidationError:
            continue
