"""How a head may stand otherwise than planned, and what each of these does to the water on the ground."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head
from rillwright.solvers.coverage import Grid, Scene, water_rate

__all__ = ["WRONGS", "Kind", "Land", "Wrong", "far_off", "set_wrong", "slopes_of", "together", "wrongs_of"]

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
_STEP: Mapping[Kind, float] = {"turn": 6.0, "arc": 6.0, "radius": 0.05, "lean x": 0.2, "lean y": 0.2}
_FAR: Mapping[Kind, tuple[float, ...]] = {  # settings about which the water is drawn besides; it is linear in the flow
    "turn": (-35.0, -20.0, 20.0, 35.0),
    "arc": (-40.0, -20.0, 20.0, 40.0),
    "radius": (-0.3, -0.15, 0.15),
}
_FAR_LEAN, _DIRECTIONS = 0.5, 8  # [m]


@dataclass(frozen=True, slots=True)
class Wrong:
    """One way in which one head may stand otherwise."""

    head: str
    kind: Kind


@dataclass(frozen=True, slots=True)
class Land:
    """Where cups stand: the heads that ran, for how long, and the ground that is judged."""

    heads: tuple[Head, ...]  # as planned
    ran: float  # [s]
    grid: Grid
    cells: NDArray[np.bool_]  # (ny, nx)
    catalogue: Catalogue
    scene: Scene

    def water(self, heads: Sequence[Head]) -> Floats:
        """Depth [m] (ny, nx) that heads throw, before what the air takes."""
        return self.ran * water_rate(heads, catalogue=self.catalogue, grid=self.grid, scene=self.scene)


def wrongs_of(land: Land) -> tuple[Wrong, ...]:
    """Everything that may stand wrong."""
    return tuple(Wrong(head.id, kind) for head in land.heads for kind in _kinds(head, land.catalogue))


def slopes_of(land: Land, stands: Mapping[str, Head], wrongs: Sequence[Wrong]) -> Floats:
    """Depth with the heads as they stand, then its change with each wrong: (1 + wrongs, ny, nx) [m].

    Changes are central differences over a step of a few degrees or a few per cent, per unit of the wrong.
    Parameters: land; stands, by head; wrongs.
    """
    layers = [land.water(tuple(stands.values()))]
    for wrong in wrongs:
        head = stands[wrong.head]
        if wrong.kind == "flow":
            planned = next(one for one in land.heads if one.id == wrong.head)
            layers.append(land.water([head.model_copy(update={"flow": planned.flow})]))
            continue
        step = _STEP[wrong.kind]
        more, less = (land.water([set_wrong(head, wrong.kind, sign * step)]) for sign in (1, -1))
        layers.append((more - less) / (2 * step))
    return np.asarray(layers)


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


def far_off(wrongs: Sequence[Wrong]) -> Iterator[dict[int, float]]:
    """Settings of one head that are far from planned, by row of the wrongs: slopes at the plan do not reach so far."""
    for rows in together(wrongs):
        if wrongs[rows[0]].kind == "lean x":
            for angle in np.arange(_DIRECTIONS) * 2 * np.pi / _DIRECTIONS:
                yield {rows[0]: float(_FAR_LEAN * np.cos(angle)), rows[1]: float(_FAR_LEAN * np.sin(angle))}
        yield from ({rows[0]: by} for by in _FAR.get(wrongs[rows[0]].kind, ()))
