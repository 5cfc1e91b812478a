"""A manifold measured over: the box that each piece fills, levels over the ground, and the room it needs."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from rillwright.model.manifold import Extent, Fit, Heights, Space, Spot
from rillwright.model.placed import BOX
from rillwright.solvers.manifold.bench import Bench
from rillwright.solvers.manifold.compose import Composed, compose, header_depth
from rillwright.solvers.manifold.fit import Rect, lay_in
from rillwright.solvers.manifold.room import HAND

__all__ = ["Measured", "box_over", "measure"]

GRAVEL = 0.05  # [m] of gravel left under what hangs lowest, for water to drain; judgement


@dataclass(frozen=True, slots=True)
class Measured:
    """What a tape and a level tell."""

    over: Extent
    heights: Heights
    fit: Fit | None  # None where nothing lies in a box and no space was given


def measure(bench: Bench, made: Composed) -> Measured:
    """Measure a manifold that is put together."""
    grid = bench.shelf.grid
    boxes = [(run.name, run.box(piece)) for run in made.runs for piece in run.pieces]
    over = (_corner((low for _, (low, _) in boxes), min), _corner((high for _, (_, high) in boxes), max))
    boxed = any(branch.lies for branch in bench.branches)
    turning = bench.terms.unions != "both sides" and boxed
    swing = max(spot.swing for spot in made.valves) if turning else 0
    bottom = min(-header_depth(bench) - swing, over[0][2]) - grid.up(GRAVEL)
    heights = Heights(
        header=-header_depth(bench),
        top=over[1][2],
        bottom=bottom,
        critical=made.critical,
        outlet=None if bench.outlet_height is None else grid.near(bench.outlet_height),
        needed=None if bench.needed_height is None else grid.up(bench.needed_height),
    )
    if not boxed and bench.terms.space is None:
        return Measured(over, heights, None)
    inside = [_seen(bench, box) for name, box in boxes if name in made.buried or not boxed]
    inside += [_swept(bench, made, spot.zone) for spot in made.valves if turning]
    return Measured(over, heights, _fit(bench, inside, deep=grid.metres(-bottom)))


def box_over(bench: Bench) -> str:
    """The box that holds it; the smallest, for the splices, where it stands over the ground or has its own space."""
    fit = measure(bench, compose(bench)).fit
    return f"{BOX}{bench.shelf.bodies.covers[0].name if fit is None or fit.cover is None else fit.cover}"


def _corner(spots: Iterable[Spot], pick: Callable[[tuple[int, ...]], int]) -> Spot:
    x, y, z = (pick(each) for each in zip(*spots, strict=True))
    return x, y, z


def _seen(bench: Bench, box: Extent) -> Rect:
    """A box seen from above [m]."""
    x0, y0, x1, y1 = (bench.shelf.grid.metres(marks) for low_high in box for marks in low_high[:2])
    return x0, y0, x1, y1


def _swept(bench: Bench, made: Composed, zone: str) -> Rect:
    """What a valve sweeps when it is screwed off [m]."""
    run = next(run for run in made.runs if run.name == zone)
    body = next(piece for piece in run.pieces if piece.kind == "valve")
    spot = next(spot for spot in made.valves if spot.zone == zone)
    (_, y0, z0), (_, y1, z1) = run.box(body)
    return _seen(bench, ((spot.x - spot.swing, y0, z0), (spot.x + spot.swing, y1, z1)))


def _fit(bench: Bench, inside: list[Rect], *, deep: float) -> Fit:
    """Lay it in its space, or in the smallest cover that takes it."""
    if bench.terms.space is not None:
        return _laid(inside, bench.terms.space, None, deep)
    covers = [(Space(length=c.length, width=c.width, depth=c.depth), c.name) for c in bench.shelf.bodies.covers]
    tried = [_laid(inside, space, name, deep) for space, name in covers]
    return next((fit for fit in tried if fit.fits), tried[-1])


def _laid(inside: list[Rect], space: Space, cover: str | None, deep: float) -> Fit:
    laid = lay_in(inside, space, clear=HAND)
    shallow = 0.0 if space.depth is None else max(deep - space.depth, 0.0)
    fits = laid.spare >= -1e-6 and shallow <= 1e-6
    return Fit(space, cover, fits, laid.turned, laid.at, laid.spare, deep, shallow)
