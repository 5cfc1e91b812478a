"""What is drawn of a manifold, the same on paper and in CAD: three views with outlines and dimensions, in marks.

Seen from above, from the front (along y) and from the side (along x). `u` goes right and `v` up in each view.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Literal

from rillwright.model.manifold import Manifold, Piece, PieceKind, Run
from rillwright.physics.grid import Grid

__all__ = ["Cut", "Dimension", "Level", "Outline", "ViewDrawn", "cut_list", "fittings_of", "views_of"]

Name = Literal["from above", "from the front", "from the side"]
_AXES: Mapping[Name, tuple[int, int]] = {"from above": (0, 1), "from the front": (0, 2), "from the side": (1, 2)}


@dataclass(frozen=True, slots=True)
class Cut:
    """Pipes of one kind that are cut to one length."""

    letter: str
    what: str
    length: int  # [marks]
    runs: tuple[str, ...]  # one for each


@dataclass(frozen=True, slots=True)
class Outline:
    """One piece in one view: a rectangle [marks]."""

    kind: PieceKind
    label: str  # letter of a cut, or zone of a valve
    low: tuple[int, int]
    high: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Dimension:
    """A length between two places, drawn along u or v, on a row beside the view."""

    along: Literal["u", "v"]
    begin: int  # [marks]
    end: int
    row: int  # 1 is next to the view
    words: str

    @property
    def length(self) -> int:
        """What it measures [marks]."""
        return self.end - self.begin


@dataclass(frozen=True, slots=True)
class Level:
    """A level line across a view."""

    at: int  # [marks]
    words: str


@dataclass(frozen=True, slots=True)
class ViewDrawn:
    """One view."""

    name: Name
    low: tuple[int, int]  # [marks] of everything in it
    high: tuple[int, int]
    outlines: tuple[Outline, ...]
    dimensions: tuple[Dimension, ...]
    levels: tuple[Level, ...] = ()


def cut_list(made: Manifold) -> tuple[Cut, ...]:
    """The pipes to cut, longest first."""
    found: dict[tuple[str, int], list[str]] = {}
    for run, piece in made.cuts:
        found.setdefault((piece.what, piece.lay), []).append(run.name)
    ordered = sorted(found.items(), key=lambda item: (item[0][0], -item[0][1]))
    return tuple(Cut(_letter(n), what, length, tuple(runs)) for n, ((what, length), runs) in enumerate(ordered))


def fittings_of(made: Manifold) -> dict[str, int]:
    """Fittings and devices by name, with their number."""
    found: dict[str, int] = {}
    for run in made.runs:
        for piece in run.pieces:
            if piece.kind not in ("pipe", "arm"):
                found[piece.what] = found.get(piece.what, 0) + 1
    return found


def views_of(made: Manifold) -> tuple[ViewDrawn, ...]:
    """The three views."""
    return tuple(_view(made, name) for name in _AXES)


def _letter(number: int) -> str:
    """Letters as columns of a sheet have them: A..Z, AA..."""
    first, last = divmod(number, 26)
    return (_letter(first - 1) if first else "") + chr(ord("A") + last)


def _view(made: Manifold, name: Name) -> ViewDrawn:
    u, v = _AXES[name]
    letters = {(cut.what, cut.length): cut.letter for cut in cut_list(made)}
    outlines = []
    for run in made.runs:
        for piece in run.pieces:
            low, high = run.box(piece)
            label = letters[piece.what, piece.lay] if piece.kind == "pipe" else _zone(run, piece)
            outlines.append(Outline(piece.kind, label, (low[u], low[v]), (high[u], high[v])))
    dimensions = {"from above": _above, "from the front": _front, "from the side": _side}[name](made)
    levels = _levels(made) if name != "from above" else ()
    heights = [level.at for level in levels]
    foot, top = min([made.low[v], *heights]), max([made.high[v], *heights])
    return ViewDrawn(name, (made.low[u], foot), (made.high[u], top), tuple(outlines), tuple(dimensions), levels)


def _zone(run: Run, piece: Piece) -> str:
    return run.name if piece.kind == "valve" else ""


def _above(made: Manifold) -> Iterator[Dimension]:
    """Along the header from valve to valve, and out over the valve that reaches farthest."""
    grid = made.grid
    stops = [made.low[0], *(spot.x for spot in made.valves), made.high[0]]
    yield from _chain(grid, "u", stops)
    yield _dimension(grid, "u", made.low[0], made.high[0], 2, "over all")
    run = max((run for run in made.runs if run.way[1]), key=lambda run: run.length, default=None)
    if run is not None:
        begins = [0, *(piece.start for piece in run.pieces if piece.kind == "valve")]
        begins += [piece.start + piece.lay for piece in run.pieces if piece.kind == "valve"] + [run.length]
        yield from _chain(grid, "v", sorted({run.at(along)[1] for along in begins}))
    yield _dimension(grid, "v", made.low[1], made.high[1], 2, "over all")


def _front(made: Manifold) -> Iterator[Dimension]:
    """Depth of the header under the ground, and what stands over it."""
    grid, levels = made.grid, made.heights
    stops = {levels.bottom, levels.header, 0}
    if levels.critical is not None:
        stops.add(levels.critical)
    yield from _chain(grid, "v", sorted(stops))
    yield _dimension(grid, "v", levels.bottom, max(made.high[2], 0), 2, "room")


def _side(made: Manifold) -> Iterator[Dimension]:
    yield _dimension(made.grid, "u", made.low[1], made.high[1], 1, "over all")


def _chain(grid: Grid, along: Literal["u", "v"], stops: Sequence[int]) -> Iterator[Dimension]:
    """From stop to stop; equal steps in a row are one dimension, as '4 x 105'."""
    steps = [(begin, end) for begin, end in pairwise(stops) if end > begin]
    for length, group in groupby(steps, key=lambda step: step[1] - step[0]):
        equal = list(group)
        times = f"{len(equal)} x " if len(equal) > 1 else ""
        words = f"{times}{grid.show(length).removesuffix(grid.unit).strip()}"
        yield Dimension(along, equal[0][0], equal[-1][1], 1, words)


def _dimension(grid: Grid, along: Literal["u", "v"], begin: int, end: int, row: int, words: str) -> Dimension:
    return Dimension(along, begin, end, row, f"{grid.show(end - begin)} {words}".strip())


def _levels(made: Manifold) -> tuple[Level, ...]:
    levels, grid = made.heights, made.grid
    found = [Level(0, "ground")]
    if levels.critical is not None:
        found.append(Level(levels.critical, f"critical level {grid.show(levels.critical)}"))
    if levels.outlet is not None and levels.critical is not None:
        found.append(Level(levels.outlet, f"highest outlet {grid.show(levels.outlet)}"))
    return tuple(found)
