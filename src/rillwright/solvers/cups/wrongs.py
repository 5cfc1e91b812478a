"""How a head may stand otherwise than planned, and what each of these does to the water on the ground."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rillwright.model.catalogue import flow_at, radius_at
from rillwright.model.parts import Catalogue, Nozzle
from rillwright.model.plan import Head
from rillwright.solvers.coverage import Grid, Scene, water_rate

__all__ = [
    "BETWEEN",
    "GROSS",
    "WRONGS",
    "Fault",
    "Kind",
    "Land",
    "Setting",
    "Wrong",
    "faults_of",
    "set_wrong",
    "slopes_of",
    "stands",
    "wrongs_of",
]

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

Fault = Literal["flow", "nozzle", "radius", "turn", "arc", "lean"]
_ANGLES = (-65.0, -48.0, -36.0, -28.0, -20.0, -12.0, 12.0, 20.0, 28.0, 36.0, 48.0, 65.0)
_FAR: Mapping[Fault, tuple[float, ...]] = {  # how far off a head that is badly wrong may be; judgement
    "flow": (-0.95, -0.75, -0.55, -0.35, 0.35),
    "radius": (-0.45, -0.35, -0.25, -0.15, 0.15),
    "turn": _ANGLES,
    "arc": _ANGLES,
}
GROSS: Mapping[Fault, float] = {  # of these, what cups are asked to show of each head; judgement
    "flow": -0.55,
    "radius": -0.25,
    "turn": 28.0,  # one way and the other
    "arc": 28.0,
    "lean": 0.5,  # any way
}
_LEANS, _DIRECTIONS = (0.5, 0.9), 8  # [m]
BETWEEN: Mapping[Fault, float] = {  # standard deviation of what is badly wrong about the nearest of these
    "flow": 0.1,
    "nozzle": 0.05,  # of its flow
    "radius": 0.05,
    "turn": 5.0,
    "arc": 5.0,
    "lean": 0.2,
}


@dataclass(frozen=True, slots=True)
class Wrong:
    """One way in which one head may stand otherwise."""

    head: str
    kind: Kind


@dataclass(frozen=True, slots=True)
class Setting:
    """One head far from as planned."""

    head: str
    kind: Fault
    by: tuple[float, ...]  # in the kind's unit; of a lean x and y [m]; none of another nozzle
    nozzle: str = ""  # that it carries, of another nozzle

    @property
    def gross(self) -> bool:
        """Whether it is what cups are asked to show."""
        wanted = GROSS.get(self.kind)
        return wanted is not None and (self.by[0] == wanted or math.isclose(math.hypot(*self.by), wanted))


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

    def head(self, name: str) -> Head:
        """A head as planned."""
        return next(head for head in self.heads if head.id == name)


def wrongs_of(land: Land) -> tuple[Wrong, ...]:
    """Everything that may stand a little wrong."""
    return tuple(Wrong(head.id, kind) for head in land.heads for kind in _kinds(head, land.catalogue))


def slopes_of(land: Land, wrongs: Sequence[Wrong]) -> Floats:
    """Depth with the heads as planned, then its change with each wrong: (1 + wrongs, ny, nx) [m].

    Changes are central differences over a step of a few degrees or a few per cent, per unit of the wrong.
    """
    layers = [land.water(land.heads)]
    for wrong in wrongs:
        head = land.head(wrong.head)
        if wrong.kind == "flow":
            layers.append(land.water([head]))
            continue
        step = _STEP[wrong.kind]
        more, less = (land.water([set_wrong(head, wrong.kind, sign * step, land.catalogue)]) for sign in (1, -1))
        layers.append((more - less) / (2 * step))
    return np.asarray(layers)


def _kinds(head: Head, catalogue: Catalogue) -> list[Kind]:
    nozzle = catalogue.nozzles[head.nozzle]
    kinds: list[Kind] = ["flow", "radius", "lean x", "lean y"]
    if nozzle.pattern != "sector" or head.arc < 360:
        kinds += ["turn"] if nozzle.pattern != "sector" or nozzle.fixed_arcs else ["turn", "arc"]
    return kinds


def set_wrong(head: Head, kind: Kind, by: float, catalogue: Catalogue) -> Head:
    """The head with one thing wrong by so much; the flow goes with the arc where the nozzle's does."""
    x, y = head.at
    change: dict[str, object]
    if kind == "flow":
        change = {"flow": head.flow * max(1 + by, 0.0)}
    elif kind == "turn":
        change = {"arc_start": head.arc_start + by}
    elif kind == "arc":
        arc = min(max(head.arc + by, 10.0), 360.0)
        follows = catalogue.nozzles[head.nozzle].flow_follows_arc
        change = {"arc": arc, "flow": head.flow * (arc / head.arc if follows else 1.0)}
    elif kind == "radius":
        change = {"radius": head.radius * max(1 + by, 0.2)}
    else:
        change = {"at": (x + by, y) if kind == "lean x" else (x, y + by)}
    return head.model_copy(update=change)


def stands(setting: Setting, land: Land) -> Head:
    """A head as it stands in a setting."""
    head = land.head(setting.head)
    if setting.kind == "nozzle":
        nozzle = land.catalogue.nozzles[setting.nozzle]
        flow = flow_at(nozzle, head.pressure, head.arc, radius_share=head.radius_share)
        radius = radius_at(nozzle, head.pressure) * head.radius_share
        return head.model_copy(update={"nozzle": nozzle.id, "flow": flow, "radius": radius})
    if setting.kind == "lean":
        leant = set_wrong(head, "lean x", setting.by[0], land.catalogue)
        return set_wrong(leant, "lean y", setting.by[1], land.catalogue)
    return set_wrong(head, setting.kind, setting.by[0], land.catalogue)


def faults_of(land: Land, head: Head) -> Iterator[tuple[Fault, list[Setting]]]:
    """Everything that may be badly wrong with a head, each kind with how far off it may be."""
    nozzle, kinds = land.catalogue.nozzles[head.nozzle], _kinds(head, land.catalogue)
    for kind, sizes in _FAR.items():
        able = [by for by in sizes if kind != "arc" or nozzle.can_throw(head.arc + by)]
        if kind in kinds and able:
            yield kind, [Setting(head.id, kind, (by,)) for by in able]
    if other := [arc for arc in nozzle.fixed_arcs if arc != head.arc]:
        yield "arc", [Setting(head.id, "arc", (arc - head.arc,)) for arc in other]
    if swapped := [one.id for one in land.catalogue.nozzles.values() if _swaps(one, nozzle, head)]:
        yield "nozzle", [Setting(head.id, "nozzle", (), name) for name in swapped]
    angles = np.arange(_DIRECTIONS) * 2 * np.pi / _DIRECTIONS
    ways = [(float(far * np.cos(angle)), float(far * np.sin(angle))) for far in _LEANS for angle in angles]
    yield "lean", [Setting(head.id, "lean", way) for way in ways]


def _swaps(other: Nozzle, planned: Nozzle, head: Head) -> bool:
    """Whether a nozzle may have been put in for the planned one."""
    alike = other.head_class == planned.head_class and other.pattern == planned.pattern
    return alike and other.id != planned.id and other.can_throw(head.arc)
