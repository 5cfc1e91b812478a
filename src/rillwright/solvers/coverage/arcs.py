"""Which way a head throws: rays over the surfaces round it, and the sector that waters most lawn for least harm."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.coverage.grid import BED, BUILDING, LAWN, OFF_SITE, OTHER_LAWN, PAVING, TRUNK, Surfaces
from rillwright.solvers.coverage.kit import FLOW_CARE, STEP, Family, Kit, Throw
from rillwright.solvers.coverage.search_kernels import best_sector, look

__all__ = ["Fan", "Stand", "best_stand", "look_round"]

Floats = NDArray[np.float64]

_RAYS = 360 // STEP
_SAMPLES = 48

_WORTH = np.zeros(7)
_WORTH[LAWN], _WORTH[OTHER_LAWN], _WORTH[BED], _WORTH[OFF_SITE] = 1.0, -0.25, -0.7, -1.6
_WORTH[PAVING], _WORTH[BUILDING], _WORTH[TRUNK] = -1.6, -60.0, 0.0

_RADIUS_CARE = 1.5  # cost of a radius off the wanted one, per square of the logarithm; the water it takes comes on top


class Stand(NamedTuple):
    """A head on trial: where it stands and how it is set."""

    at: tuple[float, float]  # [m]
    throw: Throw
    arc_start: float  # [°]
    arc: float  # [°]; 0 for a strip pattern
    wanted: float = 0.0  # [m] radius it should reach here
    pinned: bool = False  # in a corner, or held, to stay there
    held: str = ""  # id of the user's pin
    aimed: bool = False  # by the user: neither turned nor narrowed
    existing: str = ""  # id of the head in the ground that it is
    fixed: bool = False  # works as it stands in the ground: nothing of it changes but to keep off a wall
    weight: float = 1.0  # what it costs against a new head

    def turned(self, by: float, arc: float) -> "Stand":
        """The same head turned [°], with an arc [°]."""
        return Stand(self.at, self.throw, (self.arc_start + by) % 360, arc, *self[4:])

    def like(self, other: "Stand") -> "Stand":
        """The same setting of a head that is held, or in the ground, as another is."""
        return self._replace(
            held=other.held,
            aimed=other.aimed,
            existing=other.existing,
            fixed=other.fixed,
            weight=other.weight,
        )


@dataclass(frozen=True, slots=True)
class Fan:
    """Worth of the ground in every direction from a point, summed outward."""

    first: float  # [°] direction of the first ray's left border
    reach: float  # [m] of the last sample
    worth: Floats  # (rays, samples) [m²/rad] worth from the point to each sample
    clear: Floats  # (rays,) [m] over which each ray stays on the lawn


def look_round(at: tuple[float, float], surfaces: Surfaces, *, reach: float, along: float) -> Fan:
    """Look along rays from a point.

    Parameters: at [m]; reach [m]; along [°], a direction that sectors should be able to start at exactly, such as
    that of the nearest edge. Whatever lies behind a building counts as the building, behind a trunk as the trunk.
    """
    worth, clear = np.empty((_RAYS, _SAMPLES)), np.empty(_RAYS)
    per_metre, first = 1 / surfaces.grid.cell, math.radians(along)
    look(at, first, reach, surfaces.code, surfaces.origin, per_metre, _WORTH, (TRUNK, BUILDING), LAWN, worth, clear)
    return Fan(along, reach, worth, clear)


def best_stand(
    at: tuple[float, float],
    fan: Fan,
    *,
    kit: Kit,
    family: Family,
    wanted: float,
    throws: tuple[Throw, ...],
    pinned: bool = False,
) -> Stand | None:
    """Choose throw and sector for a head at a point.

    Parameters: fan, from look_round; family, whose precipitation it should match; wanted [m], radius it should reach
    to meet its neighbours; throws to choose among; pinned, whether it is to stay there.
    Returns: the stand; None when no setting waters more lawn than it wastes.
    """
    radii, cares = kit.flow_cares(family, throws)
    chosen, arc, start = best_sector(fan.worth, fan.reach, radii, wanted, cares, _RADIUS_CARE, FLOW_CARE)
    if chosen < 0:
        return None
    return Stand(at, throws[chosen], (fan.first + start * STEP) % 360, float(arc * STEP), wanted, pinned)
