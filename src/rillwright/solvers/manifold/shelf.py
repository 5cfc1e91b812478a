"""Fittings as the bench takes them off the shelf: by name, with what they take up of a run in marks of a tape."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from rillwright.errors import InputError
from rillwright.model.bench_parts import TRADE_SIZES, BenchBodies, Body
from rillwright.model.fittings import JOIN_OF, Fitting, FittingTable, family_of, nominal, pipe_ends
from rillwright.model.site import PipeMaterial
from rillwright.physics.grid import Grid

__all__ = ["Pipe", "Shelf"]

Pipe = tuple[PipeMaterial, str]  # material and trade size

_BARE = {"slip": 0.003, "solder": 0.003, "crimp": 0.012, "barb": 0.020}  # [m] of pipe left bare; judgement
_WALL = 1.25  # outside of a fitting over that of its pipe, for drawing and clearances; judgement


@dataclass(frozen=True, eq=False)
class Shelf:
    """Tables of fittings and bodies, and the tape they are measured with."""

    grid: Grid
    table: FittingTable
    bodies: BenchBodies
    pipes: Mapping[Pipe, float]  # outside diameter [m]

    @cached_property
    def _parts(self) -> dict[str, Fitting]:
        return {fitting.part: fitting for fitting in self.table.fittings}

    def has(self, part: str) -> bool:
        """Whether there is a fitting of a name."""
        return part in self._parts

    def fitting(self, part: str) -> Fitting:
        """A fitting by its name. Errors: InputError."""
        try:
            return self._parts[part]
        except KeyError:
            raise InputError(f"no fitting '{part}' is known: allow another pipe material or size") from None

    def arm(self, part: str, mouth: int) -> int:
        """From a fitting's centre to a joint."""
        return self.grid.near(self.fitting(part).takeoffs[mouth])

    def lay(self, part: str) -> int:
        """From one joint of a fitting in line to its other one."""
        return self.grid.near(sum(self.fitting(part).takeoffs[:2]))

    def lay_of(self, body: Body) -> int:
        """From one joint of a straight threaded body to its other one: as measured, else as the table has it."""
        if body.length:
            return self.grid.near(body.length - 2 * self.depth(body.trade_size))
        return self.lay(f"{body.kind} {body.trade_size}")

    def depth(self, thread: str) -> float:
        """How far [m] a male thread of a size goes in."""
        return self.table.joints["thread", thread].depth

    def stub(self, pipe: Pipe) -> int:
        """The shortest pipe that two fittings can hold: both depths, and a little that stays bare."""
        mouth = pipe_ends(*pipe)[0]
        return self.grid.up(2 * self.table.depth(mouth) + _BARE[JOIN_OF[pipe[0]][0]])

    def outside(self, pipe: Pipe) -> float:
        """Outside diameter [m] of a pipe; of a size that it is not made in, its nominal width."""
        return self.pipes.get(pipe, nominal(pipe[1]))

    def bulk(self, pipe: Pipe) -> float:
        """Outside diameter [m] of a fitting on a pipe."""
        return _WALL * self.outside(pipe)

    def body(self, kind: str, size: str) -> Body:
        """A device."""
        return self.bodies.of(kind, size)

    def nut(self, pipe: Pipe) -> float:
        """Width [m] of a union's nut on a pipe."""
        return self.body("union", pipe[1]).width

    def tee(self, pipe: Pipe, wanted: str) -> tuple[str, str]:
        """The tee whose branch is the narrowest that is no narrower than wanted. Returns its name and that branch."""
        for branch in (size for size in TRADE_SIZES if nominal(wanted) <= nominal(size) < nominal(pipe[1])):
            part = f"tee {self.family(pipe)} {pipe[1].removesuffix(' in')} x {branch}"
            if self.has(part):
                return part, branch
        return f"tee {self.family(pipe)} {pipe[1]}", pipe[1]

    def elbow(self, pipe: Pipe) -> str:
        """The elbow of a pipe."""
        return f"elbow {self.family(pipe)} {pipe[1]}"

    def threaded(self, body: str, pipe: Pipe, thread: str) -> str | None:
        """A tee or elbow with a female thread on its last mouth; None where there is none of that size."""
        part = f"{body} {self.family(pipe)} {pipe[1].removesuffix(' in')} x {thread} thread"
        return part if self.has(part) else None

    def adapter(self, pipe: Pipe, thread: str, gender: str) -> str | None:
        """The adapter from a pipe to a thread; None where there is none of these sizes."""
        sizes = pipe[1] if thread == pipe[1] else f"{pipe[1].removesuffix(' in')} x {thread}"
        part = f"adapter {self.family(pipe)} {sizes} {gender}"
        return part if self.has(part) else None

    def next_size(self, pipe: Pipe, wanted: str) -> tuple[str, str]:
        """The reducer that leads furthest towards a size, wider or narrower. Returns its name and where it leads."""
        wide, narrow = sorted((pipe[1], wanted), key=nominal, reverse=True)
        between = [size for size in TRADE_SIZES if nominal(narrow) <= nominal(size) <= nominal(wide)]
        for size in between if wanted == narrow else reversed(between):
            large, small = sorted((pipe[1], size), key=nominal, reverse=True)
            part = f"reducer {self.family(pipe)} {large.removesuffix(' in')} x {small}"
            if size != pipe[1] and self.has(part):
                return part, size
        raise InputError(f"no reducer is known from {pipe[0]} {pipe[1]} to {wanted}: allow another pipe size")

    @staticmethod
    def family(pipe: Pipe) -> str:
        """How fittings name a pipe's material."""
        return family_of(pipe[0])

    def alike(self, one: Pipe, other: Pipe) -> bool:
        """Whether one fitting takes both pipes: walls of two thicknesses are alike to it."""
        return (self.family(one), one[1]) == (self.family(other), other[1])
