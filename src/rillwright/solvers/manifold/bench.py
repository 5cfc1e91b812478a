"""What is to be put together at one valve place, and a run as it grows."""

from dataclasses import dataclass
from typing import Literal

from rillwright.model.bench_parts import Body
from rillwright.model.fittings import nominal
from rillwright.model.manifold import BenchTerms, Piece, PieceKind, Run, Spot
from rillwright.solvers.manifold.shelf import Pipe, Shelf

__all__ = ["Bench", "Branch", "Line"]


@dataclass(frozen=True, slots=True)
class Branch:
    """A valve that is to stand on the manifold."""

    zone: str
    valve: str  # kind
    size: str  # of its threads
    lateral: Pipe  # material and trade size
    breaker: str | None = None  # trade size of an atmospheric vacuum breaker of its own after it

    @property
    def lies(self) -> bool:
        """Whether it lies in a box, rather than over the ground."""
        return self.valve == "in-line valve"


@dataclass(frozen=True, slots=True)
class Bench:
    """A valve place as the bench sees it."""

    place: str
    shelf: Shelf
    main: Pipe  # that comes in
    header: Pipe
    branches: tuple[Branch, ...]  # by station
    onward: int  # mains that go on from here to other valve places
    breaker: str | None  # trade size of a pressure vacuum breaker that stands here
    drain: bool
    blow_out: bool
    cover: float  # [m] of ground over the pipes
    device_height: float | None  # [m] of the critical level over the ground
    outlet_height: float | None  # [m] of the highest outlet or pipe over the ground here
    needed_height: float | None  # [m] over the ground that the rule of the device's kind asks
    terms: BenchTerms
    side: Literal[1, -1] = 1  # of the header, looking along it, where the valves stand: 1 left

    @property
    def ends(self) -> bool:
        """Whether the header ends at its last valve."""
        return not (self.drain or self.onward)

    def in_line(self, one: int, two: int) -> bool:
        """Whether valves on these two sides of the header come in each other's way.

        Those over the ground stand on the header itself, whichever side their laterals leave by.
        """
        return one == two or not all(branch.lies for branch in self.branches)

    def branch_pipe(self, branch: Branch) -> Pipe:
        """The pipe between the header and a valve: of the lesser width of the two."""
        return self.header[0], min(self.header[1], branch.size, key=nominal)


class Line:
    """A run as it grows, piece by piece."""

    def __init__(self, shelf: Shelf, name: str, start: Spot, way: Spot) -> None:
        self._shelf, self._name, self._start, self._way = shelf, name, start, way
        self._pieces: list[Piece] = []
        self.length = 0

    @property
    def end(self) -> Spot:
        """Where it ends."""
        x, y, z = (s + self.length * w for s, w in zip(self._start, self._way, strict=True))
        return x, y, z

    def back(self, marks: int) -> Spot:
        """A point before its end."""
        x, y, z = (e - marks * w for e, w in zip(self.end, self._way, strict=True))
        return x, y, z

    def run(self) -> Run:
        """The run as it stands."""
        return Run(self._name, self._start, self._way, tuple(self._pieces))

    def pipe(self, pipe: Pipe, cut: int | None = None) -> None:
        """Add a pipe, the shortest when no length is given."""
        half = self._shelf.outside(pipe) / 2
        length = self._shelf.stub(pipe) if cut is None else cut
        self._add("pipe", f"pipe {pipe[0]} {pipe[1]}", length, 2 * half, half, half)

    def fitting(self, kind: PieceKind, part: str, pipe: Pipe, lay: int | None = None) -> None:
        """Add a fitting, from joint to joint when no length is given."""
        width = self._shelf.nut(pipe) if kind == "union" else self._shelf.bulk(pipe)
        length = self._shelf.lay(part) if lay is None else lay
        self._add(kind, part, length, width, width / 2, width / 2)

    def arm(self, pipe: Pipe, lay: int) -> None:
        """Add the other arm of a fitting or device that another run names."""
        half = self._shelf.bulk(pipe) / 2
        self._add("arm", "", lay, 2 * half, half, half)

    def device(self, kind: PieceKind, part: str, body: Body, lay: int) -> None:
        """Add a device."""
        self._add(kind, part, lay, body.width, body.above, body.below)

    def union(self, pipe: Pipe, cut: int | None = None) -> None:
        """Add a pipe and a union; where none joins such pipe, a threaded one between two adapters."""
        glued = f"union {self._shelf.family(pipe)} {pipe[1]}"
        if self._shelf.has(glued):
            self.pipe(pipe, cut)
            self.fitting("union", glued, pipe)
            return
        self.to_thread(pipe, pipe[1], cut)
        self.fitting("union", f"union thread {pipe[1]}", pipe)
        self.from_thread(pipe[1], pipe)

    def to_thread(self, pipe: Pipe, thread: str, cut: int | None = None) -> None:
        """Lead a pipe from the last piece into a female thread."""
        part = self._shelf.adapter(pipe, thread, "male")
        if part is None:
            pipe = self.narrow(pipe, thread)
            part = self._known_adapter(pipe, "male")
        self.pipe(pipe, cut)
        self.fitting("adapter", part, pipe)

    def from_thread(self, thread: str, pipe: Pipe) -> None:
        """Lead out of a female thread to where a pipe begins."""
        part = self._shelf.adapter(pipe, thread, "male")
        if part is not None:
            self.fitting("adapter", part, pipe)
            return
        first = (pipe[0], thread)
        self.fitting("adapter", self._known_adapter(first, "male"), first)
        self.narrow(first, pipe[1])

    def tap(self, pipe: Pipe) -> None:
        """Lead a pipe into an adapter with a female thread of its size."""
        self.pipe(pipe)
        self.fitting("adapter", self._known_adapter(pipe, "female"), pipe)

    def narrow(self, pipe: Pipe, wanted: str) -> Pipe:
        """Go over to another size of pipe, by as many reducers as it takes. Returns the pipe that then begins."""
        while pipe[1] != wanted:
            part, size = self._shelf.next_size(pipe, wanted)
            self.pipe(pipe)
            wide = max(pipe[1], size, key=nominal)
            self.fitting("reducer", part, (pipe[0], wide))
            pipe = (pipe[0], size)
        return pipe

    def change(self, one: Pipe, other: Pipe) -> None:
        """Go from a pipe that ends here to one of another material or size that begins here."""
        if one[1] != other[1]:
            part, size = self._shelf.next_size(one, other[1])
            wide = max(one[1], size, key=nominal)
            self.fitting("reducer", part, (one[0], wide))
            if not self._shelf.alike((one[0], size), other):
                self.pipe((one[0], size))
                self.change((one[0], size), other)
        elif not self._shelf.alike(one, other):
            self.fitting("adapter", self._known_adapter(one, "male"), one)
            self.fitting("adapter", self._known_adapter(other, "female"), other)

    def _known_adapter(self, pipe: Pipe, gender: str) -> str:
        part = self._shelf.adapter(pipe, pipe[1], gender)
        return part if part is not None else self._shelf.fitting(f"adapter {pipe[0]} {pipe[1]} {gender}").part

    def _add(self, kind: PieceKind, what: str, lay: int, across: float, up: float, down: float) -> None:
        sizes = (self._shelf.grid.up(size) for size in (across, up, down))
        self._pieces.append(Piece(kind, what, self.length, lay, *sizes))
        self.length += lay
