"""The table behind the as-built sheet: offsets with their error, depths, photos, and what the log lacks."""

from collections.abc import Iterator, Sequence

from rillwright.model.as_built import AsBuilt, BuiltMark, BuiltPipe
from rillwright.model.plan import Plan
from rillwright.physics.units import System, show
from rillwright.report.palette import CAUTION, INK, SOFT
from rillwright.report.scale import SHEETS
from rillwright.report.svg import Svg
from rillwright.report.text import HEADING, TEXT, TITLE, wrap

__all__ = ["as_built_tables"]

_MARGIN = 12.0  # [mm]
_LINE = 3.7  # [mm]
_HOW = (
    "How to find a part: hold a tape at each of its two corners, level; it lies where both distances meet, on the side",
    "that is told. By the wall: along it from one corner towards the other, then square off it. Errors are",
    "standard errors, of what was written down together with tapes good to 1 cm and 0.2 % and a square good to",
    "0.03 rad (judgement): dig two errors wide.",
)
Line = tuple[str, float, str, bool]  # words, size [mm], colour, bold


def as_built_tables(record: AsBuilt, plan: Plan) -> list[str]:
    """Lay the table out on as many upright sheets as it takes; SVG texts."""
    sheet = SHEETS[plan.yard.units][0].upright
    blocks = [_broken(block, sheet.width - 2 * _MARGIN) for block in _blocks(record, plan)]
    room = int((sheet.height - 2 * _MARGIN) / _LINE)
    pages: list[list[Line]] = [[]]
    for block in blocks:
        if len(pages[-1]) + len(block) > room >= len(block):
            pages.append([])
        for line in block:
            if len(pages[-1]) == room:
                pages.append([])
            pages[-1].append(line)
    drawn = []
    for number, lines in enumerate(pages, start=1):
        svg = Svg(sheet.width, sheet.height, name=f"table{number}", title=f"{plan.yard.name}: as built, table {number}")
        svg.rect(0, 0, sheet.width, sheet.height, fill="#ffffff")
        for row, (words, size, colour, bold) in enumerate(lines, start=1):
            weight = "bold" if bold else "normal"
            if words:
                svg.text(_MARGIN, _MARGIN + _LINE * row, words, size, fill=colour, font_weight=weight)
        drawn.append(svg.render())
    return drawn


def _broken(block: Sequence[Line], wide: float) -> list[Line]:
    found = [
        (words, size, colour, bold)
        for text, size, colour, bold in block
        for words in wrap(text, size, wide, bold=bold) or [""]
    ]
    return [*found, ("", TEXT, INK, False)]


def _blocks(record: AsBuilt, plan: Plan) -> Iterator[list[Line]]:
    """What belongs together, in the order of the table."""
    system = plan.yard.units
    yield [(f"{plan.yard.name}: as built", TITLE, INK, True), ("", TEXT, INK, False)]
    yield [
        ("Corners that tapes are held to", HEADING, INK, True),
        *((f"{c.letter}: {c.what}", TEXT, INK, False) for c in record.corners),
    ]
    yield [(line, TEXT, SOFT, False) for line in _HOW]
    for mark in record.marks:
        yield _mark(mark, system)
    yield [("Pipes: depth to the top, line where it was measured, ± standard errors", HEADING, INK, True)]
    known = [_pipe(pipe, system) for pipe in record.pipes if pipe.logged]
    yield [("; ".join(known) or "none in the log", TEXT, INK, False)]
    if record.photos:
        lines = ((f"photo {p.number}: {p.id}, {p.made}, {p.of}", TEXT, INK, False) for p in record.photos)
        yield [("Photos, as the log has them", HEADING, INK, True), *lines]
    if record.missing:
        yield [("Not known yet", HEADING, CAUTION, True), *((text, TEXT, INK, False) for text in record.missing)]


def _mark(mark: BuiltMark, system: System) -> list[Line]:
    state = f"measured {mark.made}" if mark.logged else "not measured: where the plan has it"
    lines: list[Line] = [(f"{mark.number}  {mark.what}", HEADING, INK if mark.logged else SOFT, True)]
    if mark.offsets and mark.error is not None:
        tapes = " and ".join(f"{show(o.distance, 'length', system)} from {o.corner}" for o in mark.offsets)
        lines.append((f"{tapes}, {mark.side}; standard error {show(mark.error, 'depth', system)}", TEXT, INK, False))
    else:
        lines.append(("no two corners in sight to tape from", TEXT, CAUTION, False))
    if mark.by_wall is not None:
        wall = mark.by_wall
        along, off = (show(value, "length", system) for value in (wall.along, wall.off))
        words = f"better by the wall: {along} from {wall.start} towards {wall.towards}, then {off} square off it"
        lines.append((f"{words}; standard error {show(wall.error, 'depth', system)}", TEXT, INK, False))
    depth = "depth not measured" if mark.depth is None else f"{show(mark.depth, 'depth', system)} deep"
    if mark.depth_error is not None:
        depth += f", standard error {show(mark.depth_error, 'depth', system)}"
    seen = f"; photos {_numbers(mark.photos)}" if mark.photos else ""
    said = f"; {mark.words}" if mark.words else ""
    return [*lines, (f"{depth}; {state}{seen}{said}", TEXT, SOFT, False)]


def _numbers(numbers: Sequence[int]) -> str:
    return ", ".join(map(str, numbers))


def _pipe(pipe: BuiltPipe, system: System) -> str:
    depth = "depth not measured" if pipe.depth is None else show(pipe.depth, "depth", system)
    if pipe.depth_error is not None:
        depth += f" ± {show(pipe.depth_error, 'depth', system)}"
    if pipe.line_error is not None:
        depth += f", line ± {show(pipe.line_error, 'depth', system)}"
    return f"{pipe.id} {depth}" + (f" (photos {_numbers(pipe.photos)})" if pipe.photos else "")
