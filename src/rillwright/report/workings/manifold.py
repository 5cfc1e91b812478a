"""Workings of a manifold: spacing, cuts between valves, run lengths, depth and height."""

from collections.abc import Iterator

from rillwright.model.manifold import Gap, Manifold, Run
from rillwright.report.workings.working import Given, Working

__all__ = ["manifold_workings"]

_THEORY = "docs/theory/manifold.md"
_TABLES = "data/fittings.csv, joints.csv and bodies.csv, typical of their class: measure yours"


def manifold_workings(made: Manifold) -> Iterator[Working]:
    """Workings of one manifold; lengths are whole marks of its tape."""
    for gap in made.gaps:
        yield from _gap(made, gap)
    for run in made.runs:
        yield _run(made, run)
    yield from _levels(made)


def _gap(made: Manifold, gap: Gap) -> Iterator[Working]:
    tape, grid = made.grid.show, made.grid
    key, pair = f"{made.place}.gap.{gap.first}-{gap.second}", f"{gap.first} to {gap.second}"
    lifted = made.terms.unions == "both sides"
    how = "half of both widths or both nuts, and 25 mm" if lifted else "its swing, half of the other's width, and 6 mm"
    across = "they stand on two sides of the header: none"
    given = [
        Given("room to take one out beside the other", f"{tape(gap.turns)} ({how if gap.turns else across})"),
        Given("both fittings and the shortest pipe between them", tape(gap.stub)),
    ]
    own = made.terms.spacing is not None
    yield Working(
        key,
        f"{made.place}: {pair}, axis to axis",
        grid.metres(gap.length),
        "bore",
        "the spacing that was asked for"
        if own
        else "the least at which all valves of a side come out and every pipe fits",
        tuple(given),
        f"{_THEORY}; {_TABLES}",
        None if own or made.terms.rows == "both sides" else grid.metres(gap.least),
    )
    yield Working(
        f"{made.place}.cut.{gap.first}-{gap.second}",
        f"{made.place}: pipe between {gap.first} and {gap.second}, cut to",
        grid.metres(gap.cut),
        "bore",
        "axis to axis - take-offs of both fittings",
        (Given("axis to axis", tape(gap.length), key), Given("take-offs", tape(gap.arms))),
        _TABLES,
        grid.metres(gap.length - gap.arms),
    )


def _run(made: Manifold, run: Run) -> Working:
    cuts = [piece.lay for piece in run.pieces if piece.kind == "pipe"]
    others = [piece for piece in run.pieces if piece.kind != "pipe"]
    tape, grid = made.grid.show, made.grid
    return Working(
        f"{made.place}.{run.name}.length",
        f"{made.place}: length of {run.name}",
        grid.metres(run.length),
        "bore",
        "Σ take-offs + Σ cut lengths, from the first pipe's end or centre to the last",
        (
            Given("cut lengths", " + ".join(map(tape, cuts)) or "none"),
            Given("take-offs", " + ".join(f"{tape(piece.lay)} ({piece.what or piece.kind})" for piece in others)),
        ),
        _TABLES,
        grid.metres(sum(cuts) + sum(piece.lay for piece in others)),
    )


def _levels(made: Manifold) -> Iterator[Working]:
    tape, grid, levels = made.grid.show, made.grid, made.heights
    yield Working(
        f"{made.place}.header.depth",
        f"{made.place}: axis of the header under the ground",
        grid.metres(-levels.header),
        "bore",
        "the greater of cover + half the pipe and height of a buried valve over its axis + 25 mm",
        (),
        f"{_THEORY}; rules.trench_depth",
    )
    if levels.critical is None or levels.needed is None or levels.outlet is None:
        return
    outlet = Given("highest outlet", tape(levels.outlet), f"place.{made.place}.highest-outlet")
    yield Working(
        f"{made.place}.critical",
        f"{made.place}: critical level over the ground",
        grid.metres(levels.critical),
        "bore",
        "as planned or asked for, at least highest outlet + clearance of the kind, on a mark of the tape",
        (Given("least by the rule", tape(levels.needed)), outlet),
        "ASSE 1001, 1020; local code rules",
    )
