"""A valve manifold on the bench: how it is to be put together, and what it then measures.

Lengths of a manifold are whole marks of a tape (1/16 in or 1 mm), so that every sum of them is exact. x runs along the
header from where the main comes in, y out over the valves, z up from the ground.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from rillwright.model.findings import Finding
from rillwright.model.kinds import Unions
from rillwright.model.site import PipeMaterial, Yard
from rillwright.physics.grid import GRIDS, Grid
from rillwright.physics.units import System

__all__ = [
    "COUNTED_APART",
    "BenchTerms",
    "DoorSwing",
    "Extent",
    "Facing",
    "Fit",
    "Gap",
    "Heights",
    "Manifold",
    "Piece",
    "PieceKind",
    "Run",
    "Space",
    "Spot",
    "ValveSpot",
]

Spot = tuple[int, int, int]  # [marks] x, y, z
Extent = tuple[Spot, Spot]  # least and greatest corner [marks]
Metres = Annotated[float, Field(ge=0, le=20, allow_inf_nan=False)]
Size = Annotated[float, Field(gt=0, le=20, allow_inf_nan=False)]

PieceKind = Literal[
    "pipe",
    "tee",
    "elbow",
    "bushing",
    "reducer",
    "adapter",
    "union",
    "cap",
    "valve",
    "isolating valve",
    "drain valve",
    "blow-out fitting",
    "device",
    "arm",  # the other arm of a fitting that is named in another run
]
COUNTED_APART: tuple[PieceKind, ...] = (  # pieces that the parts list holds for reasons of their own
    "valve", "device", "drain valve", "blow-out fitting", "arm", "pipe",
)  # fmt: skip


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class DoorSwing(_Frozen):
    """What a door, or anything else that turns on a hinge, sweeps: nothing may stand in it."""

    x: Metres  # [m] of the hinge, along the space
    y: Metres  # [m] across it
    radius: Size  # [m]


class Space(_Frozen):
    """The room that a manifold is given, seen from above; its wall, if it has one, is the side y = 0."""

    length: Size  # [m] along x
    width: Size  # [m] along y
    depth: Size | None = None  # [m] under the lid of a box; None where it is open
    wall: Metres | None = None  # [m] to keep clear of the wall, for hands and tools; None without a wall
    doors: Annotated[tuple[DoorSwing, ...], Field(max_length=4)] = ()
    taps: Annotated[tuple[tuple[Metres, Metres], ...], Field(max_length=4)] = ()  # [m] hose taps: x, y


class BenchTerms(_Frozen):
    """How a manifold is to be put together."""

    unions: Unions = "both sides"  # of each valve
    isolating: bool = True  # a valve that shuts the whole manifold off
    drain: bool | None = None  # a drain leg at the end of the header; None: where the plan has a drain valve
    blow_out: bool | None = None  # a fitting for compressed air on the header; None: where the plan has one
    rows: Literal["one side", "both sides"] = "one side"  # of the header, on which valves stand
    order: Literal["stations", "shortest"] = "stations"
    spacing: Size | None = None  # [m] from valve to valve; None: the least that serves
    material: PipeMaterial | None = None  # of the header; None: as the main
    height: Size | None = None  # [m] of the breakers' critical level over the ground; None: as planned
    space: Space | None = None  # None: the smallest cover that it fits is chosen

    @classmethod
    def of(cls, yard: Yard) -> "BenchTerms":
        """The terms that a yard's plan is made on."""
        return cls(unions=yard.valves.unions, isolating=yard.valves.isolating)


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of a run: it takes up `lay` marks of the run's length; of a pipe that is its length to cut."""

    kind: PieceKind
    what: str  # as a parts list names it
    start: int  # [marks] along its run
    lay: int  # [marks]
    across: int  # [marks] outside width
    up: int  # [marks] over its axis; of what stands upright over its inlet's face
    down: int  # [marks] under its axis


@dataclass(frozen=True, slots=True)
class Run:
    """Pieces in one line, end to end."""

    name: str  # 'header', 'Z1', 'Z1 riser'...
    start: Spot  # [marks]
    way: Spot  # unit vector
    pieces: tuple[Piece, ...]

    @property
    def length(self) -> int:
        """Whole length [marks]."""
        return sum(piece.lay for piece in self.pieces)

    def at(self, along: int) -> Spot:
        """Place [marks] of a point along the run."""
        x, y, z = (s + along * w for s, w in zip(self.start, self.way, strict=True))
        return x, y, z

    def box(self, piece: Piece) -> Extent:
        """Least and greatest corner [marks] of the box that a piece fills."""
        ends = self.at(piece.start), self.at(piece.start + piece.lay)
        low, high = ([pick(pair) for pair in zip(*ends, strict=True)] for pick in (min, max))
        half = (piece.across + 1) // 2
        for axis in (0, 1):
            if not self.way[axis]:
                low[axis], high[axis] = low[axis] - half, high[axis] + half
        if not self.way[2]:
            low[2], high[2] = low[2] - piece.down, high[2] + piece.up
        elif piece.kind in ("valve", "device"):
            high[2] = max(high[2], ends[0][2] + piece.up)
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])


@dataclass(frozen=True, slots=True)
class ValveSpot:
    """Where a valve stands."""

    zone: str
    x: int  # [marks] of its axis along the header
    side: Literal[1, -1]  # of the header
    width: int  # [marks]
    swing: int  # [marks] farthest part from the axis of its inlet
    source: str  # of its dimensions


@dataclass(frozen=True, slots=True)
class Gap:
    """From one valve to the next along the header: what it must be, and why."""

    first: str  # zone
    second: str
    length: int  # [marks] from axis to axis
    least: int  # [marks]
    turns: int  # [marks] that taking one off beside the other needs; 0 across the header
    stub: int  # [marks] that the two fittings and the shortest pipe between them need
    arms: int  # [marks] that the two fittings take of it
    cut: int  # [marks] of the pipe between them


@dataclass(frozen=True, slots=True)
class Heights:
    """Levels over the ground at the place [marks]."""

    header: int  # axis of the header
    top: int  # highest part
    bottom: int  # lowest part, with the room under it
    critical: int | None  # critical level of the vacuum breaker; None without one here
    outlet: int | None  # highest outlet or pipe after it
    needed: int | None  # least height of that level by the rule of its kind


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether it fits its space, and how it lies there."""

    space: Space
    cover: str | None  # name of the packaged cover that was chosen; None for a space that was given
    fits: bool
    turned: Literal[0, 90, 180, 270]  # [°] counter-clockwise
    at: tuple[float, float]  # [m] of its own origin in the space
    spare: float  # [m] that it may still be pushed any way; less than 0: short by so much
    deep: float  # [m] under the ground that it needs
    shallow: float  # [m] that the space lacks of it; 0 when it is deep enough


@dataclass(frozen=True, slots=True)
class Facing:
    """How a manifold lies in the yard."""

    header: float  # [rad] from the plan's x towards its y, the way that water takes along it
    side: Literal[1, -1]  # of the header, looking along it, where the valves stand: 1 left
    quarters: Literal[-1, 0, 1, 2] | None  # turned to the left from the main that comes in; None where none does
    towards: str = ""  # where its header runs, in eighths of the compass


@dataclass(frozen=True, slots=True)
class Manifold:
    """A manifold put together."""

    place: str
    system: System
    material: PipeMaterial
    size: str  # of the header
    terms: BenchTerms
    runs: tuple[Run, ...]
    valves: tuple[ValveSpot, ...]  # along the header
    gaps: tuple[Gap, ...]
    low: Spot  # [marks] least x, y, z that anything reaches
    high: Spot
    heights: Heights
    fit: Fit | None  # None: over the ground, and no space was given
    findings: tuple[Finding, ...] = ()
    facing: Facing | None = None  # None where nobody asked how it lies

    @property
    def grid(self) -> Grid:
        """The marks it is measured in."""
        return GRIDS[self.system]

    @property
    def span(self) -> int:
        """From the first valve's axis to the last one's [marks]."""
        return self.valves[-1].x - self.valves[0].x

    @property
    def cuts(self) -> tuple[tuple[Run, Piece], ...]:
        """Every pipe to cut, with its run."""
        return tuple((run, piece) for run in self.runs for piece in run.pieces if piece.kind == "pipe")
