"""What a builder must know of a manifold before its first pipe is cut: one function for each rule."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

from rillwright.model.findings import Finding
from rillwright.model.fittings import JOIN_OF
from rillwright.model.manifold import BenchTerms, Gap, Manifold, ValveSpot
from rillwright.solvers.manifold.bench import Bench
from rillwright.solvers.manifold.compose import compose
from rillwright.solvers.manifold.measure import measure
from rillwright.solvers.manifold.room import HAND, neighbour_of, turns_beside

__all__ = ["NO_ROOM", "TOO_LOW", "judge"]

NO_ROOM = "manifold-stub"  # the rule that no cut list can be made against
TOO_LOW = "manifold-height"
_TURN = "docs/theory/manifold.md"


def judge(bench: Bench, made: Manifold) -> tuple[Finding, ...]:
    """Every finding on a manifold."""
    rules = (_stubs_long_enough, _comes_out, _opens, _fits, _deep_enough, _high_enough)
    return tuple(finding for rule in rules for finding in rule(bench, made))


def _stubs_long_enough(bench: Bench, made: Manifold) -> Iterator[Finding]:
    """Between two fittings lies a pipe that both can hold whole."""
    least = bench.shelf.stub(bench.header)
    short = [gap for gap in made.gaps if gap.cut < least]
    if short:
        worst = min(short, key=lambda gap: gap.cut)
        left = _tape(bench, worst.cut) if worst.cut > 0 else "nothing"
        what = f"From {worst.first} to {worst.second} the fittings leave {left} for the pipe between them"
        do = f"Space the valves {_tape(bench, worst.stub)} or more apart."
        yield Finding(
            rule=NO_ROOM,
            severity="must",
            where=made.place,
            what=f"{what}; they hold {_tape(bench, least)} of it.",
            do=do,
            source=_TURN,
        )


def _comes_out(bench: Bench, made: Manifold) -> Iterator[Finding]:
    """Each valve can be taken out while those beside it stay."""
    short = [pair for pair in _beside(bench, made) if pair.length < pair.turns]
    if short:
        worst = min(short, key=lambda pair: pair.length - pair.turns)
        way = "lifted out" if bench.terms.unions == "both sides" else "unscrewed"
        others = f"; so do {len(short) - 1} more" if len(short) > 1 else ""
        yield Finding(
            rule="manifold-unscrew",
            severity="must",
            where=made.place,
            what=f"The valve of {worst.first} cannot be {way} beside that of {worst.second}: they stand "
            f"{_tape(bench, worst.length)} apart, axis to axis, and need {_tape(bench, worst.turns)}{others}.",
            do=f"Space them {_tape(bench, worst.turns)} or more apart, or fit unions on both sides.",
            source=_TURN,
        )


def _beside(bench: Bench, made: Manifold) -> Iterator[Gap]:
    """Every two valves that come in each other's way."""
    branches = {branch.zone: branch for branch in bench.branches}

    def gap(one: ValveSpot, two: ValveSpot) -> Gap:
        turns = turns_beside(bench, *(neighbour_of(bench, branches[spot.zone]) for spot in (one, two)))
        return Gap(one.zone, two.zone, two.x - one.x, turns, turns, 0, 0, 0)

    return (gap(one, two) for one, two in combinations(made.valves, 2) if bench.in_line(one.side, two.side))


def _opens(bench: Bench, made: Manifold) -> Iterator[Finding]:
    """A valve that is to come out needs a joint that opens."""
    if bench.terms.unions != "none":
        return
    stuck = [b.zone for b in bench.branches if not b.lies or b.breaker or JOIN_OF[b.lateral[0]][0] != "barb"]
    if stuck:
        yield Finding(
            rule="manifold-unscrew",
            severity="should",
            where=made.place,
            what=f"Without unions the valves of {', '.join(stuck)} come out only by cutting a pipe.",
            do="Fit a union on the outlet, or on both sides.",
            source=_TURN,
        )


def _fits(bench: Bench, made: Manifold) -> Iterator[Finding]:
    """It lies in its space with room for hands."""
    fit = made.fit
    if fit is None or fit.spare >= -1e-6:
        return
    space = fit.space
    room = f"{_metres(bench, space.length)} by {_metres(bench, space.width)}"
    whose = f"the {fit.cover} box, the largest known" if fit.cover else "its space"
    blocked = "; a door or tap is in the way" if (space.doors or space.taps) and -fit.spare <= HAND + 1e-6 else ""
    helps = (words for words, terms in _ways_in(bench) if _has_room(replace(bench, terms=terms)))
    yield Finding(
        rule="manifold-fit",
        severity="should" if fit.cover else "must",
        where=made.place,
        what=f"It does not fit {whose}, {room} inside: it lacks {_metres(bench, -fit.spare)} on a side{blocked}.",
        do=f"{next(helps, 'Give it more room')}, or part its zones between two places.",
        source=_TURN,
    )


def _ways_in(bench: Bench) -> Iterator[tuple[str, BenchTerms]]:
    """Terms that take less room, those that change least first."""
    outlet = "Fit unions on the outlets alone (valves.unions)"
    sides = "set the valves on both sides of the header"
    if bench.terms.unions == "both sides" and bench.terms.spacing is None:
        yield outlet, bench.terms.model_copy(update={"unions": "outlet"})
    yield sides.capitalize(), bench.terms.model_copy(update={"rows": "both sides"})
    if bench.terms.unions == "both sides" and bench.terms.spacing is None:
        yield f"{outlet} and {sides}", bench.terms.model_copy(update={"unions": "outlet", "rows": "both sides"})


def _has_room(bench: Bench) -> bool:
    fit = measure(bench, compose(bench)).fit
    return fit is not None and fit.fits


def _deep_enough(bench: Bench, made: Manifold) -> Iterator[Finding]:
    """The box reaches under the valves."""
    fit = made.fit
    if fit is not None and fit.shallow > 1e-6:
        deep, short = (_metres(bench, value) for value in (fit.deep, fit.shallow))
        turned = " and to be turned in" if bench.terms.unions != "both sides" else ""
        yield Finding(
            rule="manifold-depth",
            severity="should" if fit.cover else "must",
            where=made.place,
            what=f"It needs {deep} under the lid to stand{turned}; its box is {short} too shallow.",
            do="Take an extension, or a shallower trench where frost and code allow it.",
            source=_TURN,
        )


def _high_enough(bench: Bench, made: Manifold) -> Iterator[Finding]:
    """The vacuum breaker's critical level stands over every outlet after it, as its kind asks."""
    levels = made.heights
    if levels.critical is not None and levels.needed is not None and levels.critical < levels.needed:
        stands, short = _tape(bench, levels.critical), _tape(bench, levels.needed - levels.critical)
        yield Finding(
            rule=TOO_LOW,
            severity="must",
            where=made.place,
            what=f"The critical level stands {stands} over the ground, {short} lower than the rule for its kind asks.",
            do=f"Set it {_tape(bench, levels.needed)} or more over the ground.",
            source="ASSE 1001, 1020; local code rules",
        )


def _tape(bench: Bench, marks: int) -> str:
    return bench.shelf.grid.show(marks)


def _metres(bench: Bench, length: float) -> str:
    """A length [m] as a tape reads, no shorter than it is."""
    return bench.shelf.grid.show(bench.shelf.grid.up(length))
