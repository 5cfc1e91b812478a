"""Lay out one lawn: the whole of the coverage solver, from outline to heads with notes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from rillwright.model.findings import Finding
from rillwright.model.ground import Ground
from rillwright.model.lawn_water import Spill, WindyWater
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Evenness, Head, Lawn, LawnPart
from rillwright.model.site import HeadClass, Yard
from rillwright.physics.evenness import Windows, christiansen_uniformity, distribution_uniformity
from rillwright.physics.units import show
from rillwright.solvers.coverage.arcs import Stand
from rillwright.solvers.coverage.balance import WaterBalance, outlines_round, share_out, water_balance
from rillwright.solvers.coverage.depth import Floats, Patch, patch_of, water_rate
from rillwright.solvers.coverage.grid import Grid, cells_of, grid_round
from rillwright.solvers.coverage.hydrozone import hydrozones
from rillwright.solvers.coverage.kit import Kit, make_kit
from rillwright.solvers.coverage.notes import notes_on
from rillwright.solvers.coverage.search import search
from rillwright.solvers.coverage.shadow import Scene, scene_of
from rillwright.solvers.coverage.weather import design_winds

__all__ = ["LawnLayout", "evaluate_layout", "evenness_of", "judging_grid", "lawn_of", "lay_out_lawn"]

_DRY_WINDOW = 0.05  # share of the lawn in the driest window
_SHAPES = 8  # whose cells are kept: a lawn and its parts are judged many times over
_STRAY = 0.001  # of a head's water
_WORST_COEFFICIENT = 100.0  # printed where the driest window gets next to no water


@dataclass(frozen=True, slots=True)
class LawnLayout:
    """Heads for one lawn, or the reason why the class does not suit it."""

    heads: tuple[Head, ...]
    lawn: Lawn | None  # None when the class does not suit
    notes: tuple[Finding, ...] = ()  # says why, when the class does not suit


def evenness_of(rate: Floats, grid: Grid, shape: BaseGeometry) -> Evenness:
    """Measure the evenness of water on a shape.

    Parameters: rate [m/s] on the grid, shape (ny, nx). Cells that hang over the edge are left out, see cells_of.
    The scheduling coefficient is over the driest 5 % window, and 100 stands for 100 or more.
    """
    windows = _windows(shape, grid)
    depth = rate[windows.mask]
    coefficient, (row, column) = windows.coefficient(rate)
    x, y = grid.centres()
    return Evenness(
        cu=christiansen_uniformity(depth),
        du=distribution_uniformity(depth),
        scheduling=min(coefficient, _WORST_COEFFICIENT),
        mean_rate=float(depth.mean()),
        driest=(float(x[row, column]), float(y[row, column])),
    )


@lru_cache(maxsize=_SHAPES)
def _windows(shape: BaseGeometry, grid: Grid) -> Windows:
    cells = cells_of(shape, grid)
    if not cells.any():
        raise ValueError("the shape holds no cell of the grid: use smaller cells, or a grid that covers the shape")
    return Windows.of(cells, share=_DRY_WINDOW)


def lay_out_lawn(
    lawn_id: str,
    *,
    ground: Ground,
    yard: Yard,
    catalogue: Catalogue,
    head_class: HeadClass,
    pressure: float,
    seed: int = 0,
    start: int = 0,
    effort: float = 1.5,
) -> tuple[LawnLayout, ...]:
    """Place and set the heads of one class on one lawn, from few heads to even water.

    Parameters: pressure [Pa] at every nozzle; seed and start, for the order of the search: other starts end elsewhere;
    effort, how many trials the search may take (see there): counted, so that the same input gives the same plan
    everywhere.
    Returns: layouts measured in still air, the balanced one first; or a single one with no heads and a reason when the
    class does not suit the lawn.
    """
    kit = make_kit(head_class, catalogue=catalogue, pressure=pressure)
    lawn = ground.lawns[lawn_id]
    reason = _unsuited(kit, lawn, yard)
    if reason:
        return (_refusal(lawn_id, head_class, reason),)
    rng = np.random.default_rng((seed, start))
    found = search(lawn_id, ground=ground, yard=yard, kit=kit, rng=rng, effort=effort)
    if not found:
        return (_refusal(lawn_id, head_class, f"no {head_class} head can be set to water it"),)
    measure = _StillAir(lawn_id, ground, yard, catalogue, reach=kit.greatest_radius)
    written = [_heads(state.stands, lawn_id=lawn_id, ground=ground, yard=yard, kit=kit) for state in found]
    layouts = [measure.layout(heads) for heads in written]
    poor = [_poor(layout.lawn, head_class) if layout.lawn else "" for layout in layouts]
    kept = tuple(layout for layout, reason in zip(layouts, poor, strict=True) if not reason)
    return kept or (_refusal(lawn_id, head_class, poor[0]),)


def _refusal(lawn_id: str, head_class: HeadClass, reason: str) -> LawnLayout:
    note = Finding(
        rule="head-class",
        severity="should",
        where=lawn_id,
        what=f"Heads of class {head_class} do not suit this lawn: {reason}.",
        do="Allow another head class for this lawn.",
    )
    return LawnLayout((), None, (note,))


def evaluate_layout(
    heads: Sequence[Head], *, lawn_id: str, ground: Ground, yard: Yard, catalogue: Catalogue
) -> LawnLayout:
    """Measure given heads on their lawn; their radius and flow count as they stand.

    Parameters: heads of this lawn, at least one.
    """
    if not heads:
        raise ValueError(f"lawn '{lawn_id}' has no heads to measure")
    measure = _StillAir(lawn_id, ground, yard, catalogue, reach=max(head.radius for head in heads))
    layout = measure.layout(heads)
    assert layout.lawn is not None
    windy = _in_wind(heads, lawn_id=lawn_id, ground=ground, yard=yard, catalogue=catalogue)
    return replace(layout, lawn=layout.lawn.model_copy(update={"in_wind": windy}))


class _StillAir:
    """Measures layouts of one lawn in still air; a head that stands as in one before is not measured again."""

    def __init__(self, lawn_id: str, ground: Ground, yard: Yard, catalogue: Catalogue, *, reach: float) -> None:
        """Map the ground as far as heads may throw (reach [m])."""
        self._lawn_id, self._ground, self._yard, self._catalogue = lawn_id, ground, yard, catalogue
        self._grid = judging_grid(ground.lawns[lawn_id])
        self._scene = scene_of(ground, yard)
        self._outlines = outlines_round(ground, lawn_id, reach=reach)
        self._known: dict[Head, tuple[Patch, WaterBalance]] = {}

    def layout(self, heads: Sequence[Head]) -> LawnLayout:
        """The layout with what is measured of it."""
        rate, shares = np.zeros((self._grid.ny, self._grid.nx)), {}
        for head in heads:
            (window, part), shares[head.id] = self._of(head)
            rate[window] += part
        shape, grid = self._ground.lawns[self._lawn_id], self._grid
        lawn = lawn_of(heads, shares, rate, grid, lawn_id=self._lawn_id, ground=self._ground)
        notes = notes_on(lawn, depth=rate[_windows(shape, grid).mask], system=self._yard.units)
        return LawnLayout(tuple(heads), lawn, notes)

    def _of(self, head: Head) -> tuple[Patch, WaterBalance]:
        nameless = head.model_copy(update={"id": "", "pin": None})
        if nameless not in self._known:
            patch = patch_of(head, catalogue=self._catalogue, grid=self._grid, scene=self._scene)
            share = share_out(head, catalogue=self._catalogue, outlines=self._outlines, scene=self._scene)
            self._known[nameless] = patch, share
        return self._known[nameless]


def lawn_of(
    heads: Sequence[Head],
    shares: Mapping[str, WaterBalance],
    rate: Floats,
    grid: Grid,
    *,
    lawn_id: str,
    ground: Ground,
) -> Lawn:
    """Write down a lawn in still air.

    Parameters: shares, where each head's water lands, by id; rate [m/s] on the grid.
    """
    shape, drawn = ground.lawns[lawn_id], ground.drawn[lawn_id]
    balance = water_balance(shares.values())
    return Lawn(
        id=lawn_id,
        area=float(shape.area),
        head_class=heads[0].head_class,
        hydrozone=max({head.hydrozone for head in heads}, key=lambda zone: (_count(heads, zone), zone)),
        evenness=evenness_of(rate, grid, shape),
        water=float(sum(head.flow for head in heads)),
        on_lawn=balance.on_lawn,
        on_paving=balance.on_paving,
        on_building=balance.on_building,
        off_site=balance.off_site,
        elsewhere=balance.elsewhere,
        keep_dry=balance.keep_dry,
        spills=_spills(shares),
        parts=tuple(
            LawnPart(id=name, area=float(part.area), evenness=evenness_of(rate, grid, part))
            for name, part in drawn.items()
            if len(drawn) > 1
        ),
    )


def _spills(shares: Mapping[str, WaterBalance]) -> tuple[Spill, ...]:
    """Heads that wet paving or a neighbour with more than stray water, worst first."""
    spills = [
        Spill(
            head=name,
            on_paving=share.on_paving,
            off_site=share.off_site,
            keep_dry=share.keep_dry,
            share_off_site=share.off_site / share.total,
        )
        for name, share in shares.items()
        if share.total > 0 and share.on_paving + share.off_site > _STRAY * share.total
    ]
    return tuple(sorted(spills, key=lambda spill: -(spill.on_paving + spill.off_site)))


def _in_wind(
    heads: Sequence[Head], *, lawn_id: str, ground: Ground, yard: Yard, catalogue: Catalogue
) -> WindyWater | None:
    """The lawn's water in the design wind that makes it least even; None in still air."""
    grid = judging_grid(ground.lawns[lawn_id])
    cells = cells_of(ground.lawns[lawn_id], grid)
    worst: tuple[float, float, float, Scene] | None = None  # DU, CU, direction, scene
    for way, wind in design_winds(yard).items():
        scene = scene_of(ground, yard, wind=wind)
        depth = water_rate(heads, catalogue=catalogue, grid=grid, scene=scene)[cells]
        found = (distribution_uniformity(depth), christiansen_uniformity(depth), way, scene)
        worst = found if worst is None or found[0] < worst[0] else worst
    if worst is None:
        return None
    du, cu, way, scene = worst
    outlines = outlines_round(ground, lawn_id, reach=max(head.radius for head in heads))
    balance = water_balance(share_out(head, catalogue=catalogue, outlines=outlines, scene=scene) for head in heads)
    return WindyWater(speed=yard.wind.speed, blows_from=way, cu=cu, du=du, on_lawn=balance.on_lawn)


def _count(heads: Sequence[Head], zone: str) -> int:
    return sum(head.hydrozone == zone for head in heads)


def judging_grid(shape: BaseGeometry) -> Grid:
    """Lay the grid on which a lawn is judged: small cells for small and narrow lawns."""
    thin = shape.area / max(shape.length / 2, 1e-9)
    return grid_round(shape.bounds, cell=float(min(0.25, max(0.06, thin / 16))), margin=0.5)


def _unsuited(kit: Kit, lawn: Polygon | MultiPolygon, yard: Yard) -> str:
    """Say why a class cannot suit a lawn before any search; empty when it may."""
    if not kit.nozzles:
        return f"the catalogue holds no {kit.head_class} nozzle"
    low = min(nozzle.lowest_pressure for nozzle in kit.nozzles)
    if kit.pressure < low:
        return f"{kit.head_class} heads need at least {_show(low, 'pressure', yard)}"
    if kit.head_class == "strip":
        return ""
    width = 2 * max(float(shapely.maximum_inscribed_circle(part).length) for part in shapely.get_parts(lawn))
    if width < 0.75 * kit.least_radius:
        return (
            f"a {kit.head_class} throws at least {_show(kit.least_radius, 'length', yard)}, "
            f"and the lawn is nowhere wider than {_show(width, 'length', yard)}"
        )
    return ""


def _poor(lawn: Lawn, head_class: HeadClass) -> str:
    """Say why the result shows that the class does not suit; empty when it does."""
    if lawn.on_building > 0.001 * lawn.water:
        return f"{head_class} heads cannot be kept off the buildings here"
    if lawn.keep_dry > 0.001 * lawn.water:
        return f"{head_class} heads cannot be kept off the paving that is to stay dry"
    if lawn.evenness.du < 0.35:
        return f"{head_class} heads leave much of this lawn dry: low-quarter evenness only {lawn.evenness.du:.2f}"
    if lawn.on_lawn < 0.5 * lawn.water:
        return f"of a {head_class} layout's water only {100 * lawn.on_lawn / lawn.water:.0f} % would land on this lawn"
    return ""


def _show(value: float, dimension: str, yard: Yard) -> str:
    return show(value, dimension, yard.units)


def _heads(stands: Sequence[Stand], *, lawn_id: str, ground: Ground, yard: Yard, kit: Kit) -> tuple[Head, ...]:
    """Write stands down as heads, numbered from the lower left in rows."""
    ordered = sorted(stands, key=lambda s: (round(s.at[1] / 2), s.at[0], s.at[1]))
    zones = hydrozones([s.at for s in ordered], lawn_id=lawn_id, ground=ground, yard=yard)
    heights = ground.terrain.height([s.at for s in ordered])
    return tuple(
        Head(
            id=f"H{number}",
            lawn=lawn_id,
            at=stand.at,
            ground=float(height),
            head_class=kit.head_class,
            nozzle=stand.throw.nozzle.id,
            arc_start=stand.arc_start,
            arc=stand.arc,
            radius_share=stand.throw.share,
            radius=stand.throw.radius,
            flow=kit.flow(stand.throw, stand.arc),
            pressure=kit.pressure,
            hydrozone=zone,
            pin=stand.held or None,
        )
        for number, (stand, zone, height) in enumerate(zip(ordered, zones, heights, strict=True), start=1)
    )
