"""Valve manifolds: spaced, put together piece by piece, measured over, laid in their space, and judged."""

from dataclasses import replace

from rillwright.model.manifold import Manifold
from rillwright.solvers.manifold.bench import Bench, Branch
from rillwright.solvers.manifold.compose import compose
from rillwright.solvers.manifold.judge import NO_ROOM, TOO_LOW, judge
from rillwright.solvers.manifold.measure import box_over, measure
from rillwright.solvers.manifold.shelf import Shelf
from rillwright.solvers.manifold.spacing import space_out

__all__ = ["NO_ROOM", "TOO_LOW", "Bench", "Branch", "Shelf", "assemble", "box_over", "compose", "space_out"]


def assemble(bench: Bench) -> Manifold:
    """Put a valve place's manifold together. Errors: InputError for sizes that no dimension is known of."""
    made = compose(bench)
    measured = measure(bench, made)
    low, high = measured.over
    manifold = Manifold(
        place=bench.place,
        system=bench.shelf.grid.system,
        material=bench.header[0],
        size=bench.header[1],
        terms=bench.terms,
        runs=made.runs,
        valves=made.valves,
        gaps=made.gaps,
        low=low,
        high=high,
        heights=measured.heights,
        fit=measured.fit,
    )
    return replace(manifold, findings=judge(bench, manifold))
