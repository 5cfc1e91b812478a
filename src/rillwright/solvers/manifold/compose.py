"""A manifold put together, piece by piece, from the main that comes in to every lateral that goes out.

Along each run the pieces lie end to end: of a fitting counts what lies between the pipe ends in it, of a pipe the
length that is cut. So a run is exactly as long as the sum of its pieces, and cut lengths follow from places.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from rillwright.model.manifold import Gap, Run, Spot, ValveSpot
from rillwright.solvers.manifold.bench import Bench, Line
from rillwright.solvers.manifold.branches import branch_runs
from rillwright.solvers.manifold.legs import device_leg
from rillwright.solvers.manifold.room import neighbour_of, outlet_of, stub_span, turns_beside
from rillwright.solvers.manifold.spacing import Standing, space_out

__all__ = ["Composed", "compose", "header_depth"]

LID = 0.025  # [m] between a valve and the lid over it; judgement
DRAIN = "1/2 in"  # thread of the drain valve
BLOW_OUT = "3/4 in"  # thread of the fitting for compressed air
_UP, _DOWN, _ALONG = (0, 0, 1), (0, 0, -1), (1, 0, 0)


@dataclass(frozen=True, slots=True)
class Composed:
    """Runs and valves of a manifold."""

    runs: tuple[Run, ...]
    valves: tuple[ValveSpot, ...]
    gaps: tuple[Gap, ...]
    critical: int | None  # [marks] level of the lowest vacuum breaker over the ground
    buried: frozenset[str]  # names of the runs that a box has to cover


@lru_cache(maxsize=4096)
def compose(bench: Bench) -> Composed:
    """Put a manifold together, each once. Errors: InputError for sizes that no fitting is known of."""
    standing = _stand(bench)
    inlet, begin, critical = _inlet(bench, (0, 0, -header_depth(bench)))
    header, tees, ends = _header(bench, begin, standing)
    runs, buried = [*inlet, header], {header.name}
    for each, tee in zip(standing, tees, strict=True):
        branch = bench.branches[each.number]
        outlet = outlet_of(bench, branch, last=bench.ends and each is standing[-1])
        grown, level = branch_runs(bench, branch, outlet, tee, each.side)
        runs += grown
        buried |= {branch.zone} if branch.lies else set()
        critical = level if critical is None else critical
    spots = tuple(_spot(bench, each, tee) for each, tee in zip(standing, tees, strict=True))
    return Composed((*runs, *ends), spots, tuple(_gaps(bench, standing)), critical, frozenset(buried))


def header_depth(bench: Bench) -> int:
    """Depth [marks] of the header's axis: as deep as the pipes, and so deep that the valves are under their lid."""
    shelf = bench.shelf
    above = [shelf.body(b.valve, b.size).above for b in bench.branches if b.lies]
    covered = bench.cover + shelf.outside(bench.header) / 2
    return shelf.grid.up(max([covered, *(height + LID for height in above)]))


def _stand(bench: Bench) -> tuple[Standing, ...]:
    """Where the valves stand along the header, and on which side of it."""
    if bench.side < 0:
        return tuple(replace(each, side=-each.side) for each in _stand(replace(bench, side=1)))
    terms, both = bench.terms, bench.terms.rows == "both sides"
    if terms.spacing is not None:
        step = bench.shelf.grid.near(terms.spacing)
        return _sided([Standing(n, n * step, 1) for n in range(len(bench.branches))], both=both)
    apart = both and not bench.in_line(1, -1)
    spaced = space_out(
        [neighbour_of(bench, branch) for branch in bench.branches],
        turns=lambda one, two: turns_beside(bench, one, two),
        stub=lambda one, two, last: stub_span(bench, one.tee, two.tee, last=last),
        both=apart,
        free=terms.order == "shortest",
    )
    return spaced if apart else _sided(spaced, both=both)


def _sided(standing: Sequence[Standing], *, both: bool) -> tuple[Standing, ...]:
    """Valves with their laterals on one side, or by turns on both."""
    return tuple(replace(each, side=-1 if both and n % 2 else 1) for n, each in enumerate(standing))


def _gaps(bench: Bench, standing: Sequence[Standing]) -> Iterator[Gap]:
    for one, two in pairwise(standing):
        first, second = bench.branches[one.number], bench.branches[two.number]
        beside = neighbour_of(bench, first), neighbour_of(bench, second)
        turns = turns_beside(bench, *beside) if bench.in_line(one.side, two.side) else 0
        stub = stub_span(bench, beside[0].tee, beside[1].tee, last=two is standing[-1])
        cut = _cut(bench, one, two, standing)
        length = two.at - one.at
        yield Gap(first.zone, second.zone, length, max(turns, stub), turns, stub, length - cut, cut)


def _cut(bench: Bench, one: Standing, two: Standing, standing: Sequence[Standing]) -> int:
    """The pipe between two valves [marks]: what the fittings leave of the way."""
    last = bench.ends and two is standing[-1]
    before = outlet_of(bench, bench.branches[one.number], last=False)
    after = outlet_of(bench, bench.branches[two.number], last=last)
    return two.at - one.at - before.arm - after.arm


def _spot(bench: Bench, each: Standing, tee: Spot) -> ValveSpot:
    branch, grid = bench.branches[each.number], bench.shelf.grid
    body = bench.shelf.body(branch.valve, branch.size)
    return ValveSpot(branch.zone, tee[0], each.side, grid.up(body.width), grid.up(body.swing), body.source)


def _inlet(bench: Bench, start: Spot) -> tuple[list[Run], Spot, int | None]:
    """From the end of the main to the header: over a pressure vacuum breaker where one stands here.

    Returns: the runs, where the header begins, and the critical level.
    """
    if bench.breaker is None:
        return [], start, None
    line, shelf = Line(bench.shelf, "inlet", start, _ALONG), bench.shelf
    if not shelf.alike(bench.main, bench.header):
        line.change(bench.main, bench.header)
        line.pipe(bench.header)
    elbow = shelf.elbow(bench.header)
    line.fitting("elbow", elbow, bench.header, shelf.arm(elbow, 0))
    leg, end, critical = device_leg(
        bench, bench.header, line.end, _ALONG, kind="pressure vacuum breaker", size=bench.breaker
    )
    return [line.run(), *leg], end, critical


def _header(bench: Bench, start: Spot, standing: Sequence[Standing]) -> tuple[Run, list[Spot], list[Run]]:
    """The header with a tee for each valve. Returns it, the tees' centres, and what branches off it besides."""
    line = Line(bench.shelf, "header", start, _ALONG)
    others = _begin(bench, line)
    tees: list[Spot] = []
    for number, each in enumerate(standing):
        if number:
            line.pipe(bench.header, _cut(bench, standing[number - 1], each, standing))
        last = bench.ends and each is standing[-1]
        outlet = outlet_of(bench, bench.branches[each.number], last=last)
        line.fitting("elbow" if last else "tee", outlet.part, bench.header, outlet.arm if last else 2 * outlet.arm)
        tees.append(line.back(0 if last else outlet.arm))
    others += _end(bench, line)
    return line.run(), tees, others


def _begin(bench: Bench, line: Line) -> list[Run]:
    """What comes before the first valve: the change of pipe, the isolating valve, the fitting for compressed air."""
    pipe, shelf = bench.header, bench.shelf
    if bench.breaker is not None:
        line.arm(pipe, shelf.arm(shelf.elbow(pipe), 0))
        line.pipe(pipe)
    elif not shelf.alike(bench.main, pipe):
        line.change(bench.main, pipe)
        line.pipe(pipe)
    if bench.terms.isolating:
        body = shelf.body("isolating valve", pipe[1])
        line.from_thread(pipe[1], pipe)
        line.device("isolating valve", f"isolating valve {pipe[1]}", body, shelf.lay_of(body))
        line.from_thread(pipe[1], pipe)
        line.pipe(pipe)
    if not bench.blow_out:
        return []
    air, body = _tapped(bench, line, "blow-out", BLOW_OUT, _UP, ends=False), shelf.body("blow-out fitting", BLOW_OUT)
    air.device("blow-out fitting", "blow-out fitting", body, shelf.arm("blow-out fitting", 0))
    line.pipe(pipe)
    return [air.run()]


def _end(bench: Bench, line: Line) -> list[Run]:
    """How a header goes on behind the last valve: with a drain leg, to other valve places, or not at all."""
    pipe, shelf = bench.header, bench.shelf
    runs: list[Run] = []
    for number in range(2, bench.onward + 1):
        part = shelf.tee(pipe, pipe[1])[0]
        line.pipe(pipe)
        line.fitting("tee", part, pipe, 2 * shelf.arm(part, 0))
        away = Line(shelf, f"onward {number}", line.back(shelf.arm(part, 0)), (0, -bench.side, 0))
        away.arm(pipe, shelf.arm(part, 2))
        _to_main(bench, away)
        runs.append(away.run())
    if bench.drain:
        line.pipe(pipe)
        leg = _tapped(bench, line, "drain", DRAIN, _DOWN, ends=not bench.onward)
        leg.device("drain valve", "drain valve", shelf.body("drain valve", DRAIN), shelf.arm("drain valve", 0))
        runs.append(leg.run())
    if bench.onward:
        _to_main(bench, line)
    return runs


def _to_main(bench: Bench, line: Line) -> None:
    """Go back from the header's pipe to the main's."""
    if not bench.shelf.alike(bench.header, bench.main):
        line.pipe(bench.header)
        line.change(bench.header, bench.main)


def _tapped(bench: Bench, line: Line, name: str, thread: str, way: Spot, *, ends: bool) -> Line:
    """Add a tee to a header, or an elbow where it ends, and lead from there into a female thread.

    Where no such fitting has that thread, a pipe of the thread's size leads to an adapter.
    """
    pipe, shelf = bench.header, bench.shelf
    kind: Literal["elbow", "tee"] = "elbow" if ends else "tee"
    threaded = shelf.threaded(kind, pipe, thread)
    part = threaded or (shelf.elbow(pipe) if ends else shelf.tee(pipe, pipe[1])[0])
    arm = shelf.arm(part, 0)
    line.fitting(kind, part, pipe, arm if ends else 2 * arm)
    branch = Line(shelf, name, line.back(0 if ends else arm), way)
    branch.arm(pipe, shelf.arm(part, 1 if ends else 2))
    if threaded is None:
        branch.tap(branch.narrow(pipe, thread))
    return branch
