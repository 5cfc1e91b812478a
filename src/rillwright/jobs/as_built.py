"""The as-built record: what the log says of buried parts and pipes, with offsets, and what it does not say yet."""

import math
from collections.abc import Collection, Iterable, Sequence
from uuid import UUID

import shapely

from rillwright.model.as_built import AsBuilt, BuiltMark, BuiltPhoto, BuiltPipe, Corner, Offset, WallOffset
from rillwright.model.field_log import Entry, PartFitted, PipeBuried
from rillwright.model.ground import Ground, resolve_ground
from rillwright.model.plan import Plan, Point
from rillwright.report.as_built import draw_as_built
from rillwright.report.as_built_table import as_built_tables
from rillwright.report.sheet import pdf_of
from rillwright.solvers.offsets import bearing, best_fix, best_wall, mirrored

__all__ = ["AS_BUILT_FILES", "as_built_files", "make_as_built", "taped_from"]

AS_BUILT_FILES = ("as-built.json", "as-built.svg", "as-built.pdf")


def as_built_files(record: AsBuilt, plan: Plan) -> dict[str, bytes]:
    """Every file of a record, by name."""
    drawing = draw_as_built(record, plan, resolve_ground(plan.yard))
    paper = pdf_of([drawing, *as_built_tables(record, plan)])
    return dict(zip(AS_BUILT_FILES, (record.model_dump_json(indent=1).encode(), drawing.encode(), paper), strict=True))


def make_as_built(plan: Plan, entries: Iterable[Entry]) -> AsBuilt:
    """Make the record of a plan from what counts of the log of its yard (see `standing`).

    Of several entries on one part the last counts. A valve or splice that is not in the log stands at its valve place
    as planned, marked so; a pipe likewise lies as planned.
    """
    told = sorted(entries, key=lambda entry: entry.made)
    photos: dict[UUID, BuiltPhoto] = {}
    for entry in told:
        if isinstance(entry.what, (PartFitted, PipeBuried)):
            for photo in entry.photos:
                of = _what(entry.what) if isinstance(entry.what, PartFitted) else entry.what.pipe
                photos.setdefault(photo, BuiltPhoto(number=len(photos) + 1, id=photo, made=entry.made.date(), of=of))
    ground = resolve_ground(plan.yard)
    tapes = _Tapes(plan, ground)
    marks = _marks(plan, told, tapes, photos)
    ways = {pipe.id: pipe.path for pipe in plan.pipes}
    strange = {e.what.pipe: e.what.line for e in told if isinstance(e.what, PipeBuried) and e.what.pipe not in ways}
    ways |= {name: tuple(line) for name, line in strange.items() if line}
    pipes = tuple(_pipe(name, path, told, photos) for name, path in ways.items())
    missing = (
        *(f"{mark.what}: not in the log; drawn where the plan has it" for mark in marks if not mark.logged),
        *_not_logged([pipe.id for pipe in pipes if not pipe.logged]),
        *(f"pipe {name}: in the log without its line, and not in this plan" for name in strange if name not in ways),
        *(f"{mark.what}: no two corners can be taped from" for mark in marks if not mark.offsets),
    )
    return AsBuilt(corners=tapes.used, marks=marks, pipes=pipes, photos=tuple(photos.values()), missing=missing)


def taped_from(plan: Plan, things: Sequence[tuple[str, Point]]) -> tuple[tuple[Corner, ...], tuple[BuiltMark, ...]]:
    """Where things are to stand, by tape: the corners that are used, and a mark for each thing, named what."""
    tapes = _Tapes(plan, resolve_ground(plan.yard))
    marks = tuple(_mark(number, what, at, tapes) for number, (what, at) in enumerate(things, start=1))
    return tapes.used, marks


class _Tapes:
    """The points that tapes are held to; those that are used get letters, in the order of their first use."""

    def __init__(self, plan: Plan, ground: Ground) -> None:
        self._north = plan.yard.north
        self._walls = ground.kinds["building"]
        self._corners = _corners(plan)
        self._others = _others(plan)
        self._sides = _sides(plan)
        self._letters: dict[int, Corner] = {}

    @property
    def used(self) -> tuple[Corner, ...]:
        """Corners that some offset is taped from."""
        return tuple(self._letters.values())

    def taped(self, mark: BuiltMark) -> BuiltMark:
        """A mark with its offsets; other fixed points help only where corners do not serve."""
        for points in (self._corners, [*self._corners, *self._others]):
            fix = best_fix(mark.at, [point for _, point in points], walls=self._walls)
            if fix is not None:
                ends = [self._corner(points, n) for n in (fix.first, fix.second)]
                offsets = tuple(Offset(corner=c.letter, distance=d) for c, d in zip(ends, fix.distances, strict=True))
                found = {"offsets": offsets, "side": self._side(mark.at, *ends), "error": fix.error}
                return mark.model_copy(update=found | {"by_wall": self.by_wall(mark.at, better_than=fix.error)})
        return mark.model_copy(update={"by_wall": self.by_wall(mark.at, better_than=math.inf)})

    def by_wall(self, at: Point, *, better_than: float) -> WallOffset | None:
        """The place by the wall beside it, where that is less in error than so much [m]."""
        beside = best_wall(at, [(self._corners[a][1], self._corners[b][1]) for a, b in self._sides])
        if beside is None or beside.error >= better_than:
            return None
        start, towards = (self._corner(self._corners, n).letter for n in self._sides[beside.wall])
        return WallOffset(start=start, towards=towards, along=beside.along, off=beside.off, error=beside.error)

    def _side(self, at: Point, first: Corner, second: Corner) -> str:
        """What tells a place from the other one at the same two distances."""
        other = mirrored(at, first.at, second.at)
        if self._walls.contains(shapely.Point(other)):
            return "outside the building"
        wind, degrees = bearing(first.at, at, north=self._north)
        told_apart = wind != bearing(first.at, other, north=self._north)[0]
        return f"{wind} of {first.letter}" if told_apart else f"at {degrees:.0f}° from north, seen from {first.letter}"

    def _corner(self, points: Sequence[tuple[str, Point]], number: int) -> Corner:
        if number not in self._letters:
            what, at = points[number]
            self._letters[number] = Corner(letter=_letter(len(self._letters)), what=what, at=at)
        return self._letters[number]


def _corners(plan: Plan) -> list[tuple[str, Point]]:
    buildings = [area for area in plan.yard.areas if area.kind == "building"]
    return [(f"{b.id}, corner {n}", at) for b in buildings for n, at in enumerate(b.outline, start=1)]


def _sides(plan: Plan) -> list[tuple[int, int]]:
    """Walls, each by the indices of its two corners."""
    found: list[tuple[int, int]] = []
    first = 0
    for building in (area for area in plan.yard.areas if area.kind == "building"):
        count = len(building.outline)
        found += [(first + n, first + (n + 1) % count) for n in range(count)]
        first += count
    return found


def _others(plan: Plan) -> list[tuple[str, Point]]:
    paving = [area for area in plan.yard.areas if area.kind == "paving"]
    yard = plan.yard
    return [
        *((f"middle of {tree.id}", tree.at) for tree in yard.trees),
        ("water entry", yard.water_entry.at),
        *((f"{p.id}, corner {n}", at) for p in paving for n, at in enumerate(p.outline, start=1)),
    ]


def _letter(number: int) -> str:
    """A, B ... Z, A1, B1 and so on."""
    return chr(ord("A") + number % 26) + (str(number // 26) if number >= 26 else "")


def _what(part: PartFitted) -> str:
    joins = "at" if part.part in ("splice", "valve box", "tee", "cap", "sleeve end") else "of"
    return f"{part.part} {joins} {part.name}"


def _marks(plan: Plan, told: Sequence[Entry], tapes: _Tapes, photos: dict[UUID, BuiltPhoto]) -> tuple[BuiltMark, ...]:
    """Parts of the log, then what should be there and is not in the log.

    A name has one valve and one backflow device, wherever; of other parts, such as tees, one on each spot.
    """
    last: dict[tuple[str, Point | None], Entry] = {}
    for entry in told:
        if isinstance(entry.what, PartFitted):
            single = entry.what.part in ("valve", "backflow device")
            last[_what(entry.what), None if single else entry.what.place] = entry
    found: list[BuiltMark] = []
    for (what, _), entry in last.items():
        assert isinstance(entry.what, PartFitted)
        numbers = tuple(photos[photo].number for photo in entry.photos)
        mark = _with_error(_mark(len(found) + 1, what, entry.what.place, tapes), entry.what.place_error)
        told_of = {"depth": entry.what.depth, "logged": True, "made": entry.made.date(), "words": entry.words}
        if entry.what.depth is not None:
            told_of["depth_error"] = entry.what.depth_error
        found.append(mark.model_copy(update=told_of | {"photos": numbers}))
    known = {(e.what.part, e.what.name) for e in last.values() if isinstance(e.what, PartFitted)}
    for what, at in _expected(plan, known):
        found.append(_mark(len(found) + 1, what, at, tapes))
    return tuple(found)


def _mark(number: int, what: str, at: Point, tapes: _Tapes) -> BuiltMark:
    """A part that nobody has measured yet, with its offsets."""
    bare = BuiltMark(number=number, what=what, at=at, depth=None, logged=False, offsets=(), error=None, made=None)
    return tapes.taped(bare)


def _with_error(mark: BuiltMark, place: float) -> BuiltMark:
    """A mark whose place was itself measured with an error [m]: it is found again with that and the tapes' own."""
    wall = mark.by_wall
    error = None if mark.error is None else math.hypot(mark.error, place)
    by_wall = wall and wall.model_copy(update={"error": math.hypot(wall.error, place)})
    return mark.model_copy(update={"error": error, "by_wall": by_wall})


def _expected(plan: Plan, known: Collection[tuple[str, str]]) -> list[tuple[str, Point]]:
    """Valves and splices that a plan buries and the log does not name; a splice may be named by place or by zone."""
    found: list[tuple[str, Point]] = []
    for place in plan.places:
        found += [(f"valve of {zone}", place.at) for zone in place.zones if ("valve", zone) not in known]
        named = {("splice", name) for name in (place.id, *place.zones)}
        if not any(name in known for name in named):
            found.append((f"splice at {place.id}", place.at))
    return found


def _pipe(name: str, path: Sequence[Point], told: Sequence[Entry], photos: dict[UUID, BuiltPhoto]) -> BuiltPipe:
    own = [entry for entry in told if isinstance(entry.what, PipeBuried) and entry.what.pipe == name]
    if not own:
        return BuiltPipe(id=name, line=tuple(path), depth=None, logged=False, made=None)
    entry = own[-1]
    assert isinstance(entry.what, PipeBuried)
    return BuiltPipe(
        id=name,
        line=tuple(entry.what.line or path),
        depth=entry.what.depth,
        depth_error=entry.what.depth_error,
        line_error=entry.what.line_error if entry.what.line else None,
        logged=True,
        made=entry.made.date(),
        photos=tuple(photos[photo].number for photo in entry.photos),
    )


def _not_logged(pipes: Sequence[str]) -> list[str]:
    return [f"pipes {', '.join(pipes)}: not in the log; drawn where the plan has them"] if pipes else []
