"""How a head may stand otherwise than planned, and what each of these does to the water on the ground."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head
from rillwright.solvers.coverage import Grid, Scene, water_rate

__all__ = ["WRONGS", "Kind", "Wrong", "set_wrong", "slopes_of", "together"]

Floats = NDArray[np.float64]

Kind = Literal["flow", "turn", "arc", "radius", "lean x", "lean y"]
WRONGS: Mapping[Kind, float] = {  # standard deviation of a head that is set with care; judgement
    "flow": 0.05,  # share
    "turn": 3.0,  # [°] counter-clockwise
    "arc": 3.0,  # [°] wider, its start as it stands
    "radius": 0.03,  # share
    "lean x": 0.10,  # [m] that a leaning head's water is shifted
    "lean y": 0.10,
}
_STEP: Mapping[Kind, float] = {"flow": 1.0, "turn": 6.0, "arc": 6.0, "radius": 0.05, "lean x": 0.2, "lean y": 0.2}


@dataclass(frozen=True, slots=True)
class Wrong:
    """One way in which one head may stand otherwise."""

    head: str
    kind: Kind


def slopes_of(
    heads: Sequence[Head], *, catalogue: Catalogue, grid: Grid, scene: Scene
) -> tuple[Floats, tuple[Wrong, ...], Floats]:
    """Rate of water as planned (ny, nx) [m/s], the wrongs, and the change of the rate with each (wrongs, ny, nx).

    Changes are central differences over a step of a few degrees or a few per cent, per unit of the wrong.
    """
    planned = np.zeros((grid.ny, grid.nx))
    wrongs: list[Wrong] = []
    slopes: list[Floats] = []
    for head in heads:
        own = water_rate([head], catalogue=catalogue, grid=grid, scene=scene)
        planned += own
        for kind in _kinds(head, catalogue):
            wrongs.append(Wrong(head.id, kind))
            if kind == "flow":
                slopes.append(own)
                continue
            step = _STEP[kind]
            more, less = (
                water_rate([set_wrong(head, kind, sign * step)], catalogue=catalogue, grid=grid, scene=scene)
                for sign in (1, -1)
            )
            slopes.append((more - less) / (2 * step))
    return planned, tuple(wrongs), np.asarray(slopes)


def _kinds(head: Head, catalogue: Catalogue) -> list[Kind]:
    nozzle = catalogue.nozzles[head.nozzle]
    kinds: list[Kind] = ["flow", "radius", "lean x", "lean y"]
    if nozzle.pattern == "sector" and head.arc < 360:
        kinds += ["turn"] if nozzle.fixed_arcs else ["turn", "arc"]
    return kinds


def set_wrong(head: Head, kind: Kind, by: float) -> Head:
    """The head with one thing wrong by so much."""
    x, y = head.at
    change: Mapping[Kind, dict[str, object]] = {
        "flow": {"flow": head.flow * max(1 + by, 0.0)},
        "turn": {"arc_start": head.arc_start + by},
        "arc": {"arc": min(max(head.arc + by, 10.0), 360.0)},
        "radius": {"radius": head.radius * max(1 + by, 0.2)},
        "lean x": {"at": (x + by, y)},
        "lean y": {"at": (x, y + by)},
    }
    return head.model_copy(update=change[kind])


def together(wrongs: Sequence[Wrong]) -> list[list[int]]:
    """Rows of the wrongs, the two of a lean together: each may be what is badly wrong."""
    groups: dict[tuple[str, str], list[int]] = {}
    for row, wrong in enumerate(wrongs):
        groups.setdefault((wrong.head, wrong.kind.split()[0]), []).append(row)
    return list(groups.values())
