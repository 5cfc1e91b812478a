"""A layout on trial: the water of every head kept apart, so that changing one head costs one head's work."""

import math
from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LinearRing, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from rillwright.model.ground import Ground
from rillwright.solvers.coverage.arcs import Fan, Stand, best_stand, look_round
from rillwright.solvers.coverage.depth import flight_of, pattern_of, share_within
from rillwright.solvers.coverage.grid import (
    BUILDING,
    TRUNK,
    Grid,
    Surfaces,
    cells_of,
    draw_surfaces,
    grid_round,
)
from rillwright.solvers.coverage.kit import STEP, Family, Kit, Throw
from rillwright.solvers.coverage.placement import Seat, edge_direction, stand_ground
from rillwright.solvers.coverage.search_kernels import fallen, stopped_by_walls
from rillwright.solvers.coverage.shadow import BARK, WALL, Scene, Spot, segments_of, spot_at
from rillwright.solvers.coverage.tally import Patch, Spots, begun, put, swap, swap_and_weigh, weigh, weigh_without

__all__ = ["Field", "Footprint", "Scale", "State", "make_field"]

Floats = NDArray[np.float64]

_NEAR_THROWS = 8
_KEPT = 6_000  # footprints, at most
_INSTEAD = np.full(4, 255, dtype=np.uint8)  # surface that a parcel counts on by what stopped it; 255: what lies there
_INSTEAD[BARK], _INSTEAD[WALL] = TRUNK, BUILDING
_SPOT = 1.0  # [m] side of the window in which a dry spot counts


@dataclass(frozen=True, slots=True)
class Footprint:
    """Where one head's water falls, and how it suits the others."""

    water: Patch
    log_rate: float  # logarithm of the mean rate [m/s] over the ground it wets by itself
    odd: int  # 1 for a sector much smaller than the lawn the head faces (a part circle in the open, say), else 0


@dataclass(frozen=True, slots=True)
class Scale:
    """What a plain lattice of the largest fitting family would take: by this heads and water are counted."""

    heads: float
    flow: float  # [m³/s]


@dataclass(frozen=True)
class Field:
    """One lawn as the search sees it. Holds caches, which change no result."""

    kit: Kit
    lawn: Polygon | MultiPolygon
    ground: Polygon | MultiPolygon  # where heads may stand
    rings: tuple[LinearRing, ...]  # edges of `ground`
    edges: Floats  # (n, 4) [m] pieces of the rings
    surfaces: Surfaces
    scene: Scene  # what water meets
    grid: Grid
    cells: NDArray[np.bool_]  # by which evenness is judged
    spots: Spots
    paving_limit: float
    scale: Scale
    _throws: dict[float, tuple[Throw, ...]] = field(default_factory=dict)
    _fans: dict[tuple[float, float], Fan] = field(default_factory=dict)
    _faced: dict[tuple[float, float, float], int] = field(default_factory=dict)
    _met: dict[tuple[float, float], Spot] = field(default_factory=dict)
    _aims: dict[tuple[Seat, Family], Stand | None] = field(default_factory=dict)
    _prints: dict[tuple[tuple[float, float], Throw, float, float], Footprint] = field(default_factory=dict)

    def fan(self, at: tuple[float, float]) -> Fan:
        """Rays round a point, kept for the next time."""
        known = self._fans.get(at)
        if known is None:
            along = edge_direction(at, self.edges)
            known = self._fans[at] = look_round(at, self.surfaces, reach=self.kit.greatest_radius, along=along)
        return known

    def aim(self, seat: Seat, family: Family) -> Stand | None:
        """Choose the best setting for a head at a seat; None when none does good, and for strips, set by rows."""
        if self.kit.head_class == "strip":
            return None
        if (seat, family) not in self._aims:
            self._aims[seat, family] = self._aimed(seat, family)
        return self._aims[seat, family]

    def _aimed(self, seat: Seat, family: Family) -> Stand | None:
        wanted = min(max(seat.wanted, self.kit.least_radius), self.kit.greatest_radius)
        throws = self.throws_near(wanted)
        fan = self.fan(seat.at)
        return best_stand(seat.at, fan, kit=self.kit, family=family, wanted=wanted, throws=throws, pinned=seat.corner)

    def _log_rate(self, stand: Stand) -> float:
        nozzle, radius = stand.throw.nozzle, stand.throw.radius
        wets = math.radians(stand.arc) / 2 * radius**2 if nozzle.pattern == "sector" else radius * nozzle.width
        return math.log(self.kit.flow(stand.throw, stand.arc) / wets)

    def throws_near(self, radius: float) -> tuple[Throw, ...]:
        """Throws with the radius or somewhat less or more, of each nozzle at most two."""
        if radius not in self._throws:
            self._throws[radius] = self._near(radius)
        return self._throws[radius]

    def _near(self, radius: float) -> tuple[Throw, ...]:
        ranked = sorted(self.kit.throws, key=lambda t: abs(math.log(t.radius / radius)) + 0.3 * (1 - t.share))
        taken: dict[str, int] = {}
        near: list[Throw] = []
        for throw in ranked:
            if taken.get(throw.nozzle.id, 0) < 2 and len(near) < _NEAR_THROWS:
                taken[throw.nozzle.id] = taken.get(throw.nozzle.id, 0) + 1
                near.append(throw)
        return tuple(near)

    def met_at(self, at: tuple[float, float]) -> Spot:
        """What water meets round a point, kept for the next time."""
        if at not in self._met:
            self._met[at] = spot_at(at, self.scene, reach=self.kit.greatest_radius)
        return self._met[at]

    def footprint(self, stand: Stand) -> Footprint:
        """One head's water on the grid, and what lands where; kept for a while, as a search comes back to settings."""
        key = (stand.at, stand.throw, stand.arc_start, stand.arc)
        known = self._prints.get(key)
        if known is None:
            if len(self._prints) >= _KEPT:
                self._prints.clear()
            known = self._prints[key] = self._thrown(stand)
        return known

    def _thrown(self, stand: Stand) -> Footprint:
        nozzle, grid, kit = stand.throw.nozzle, self.grid, self.kit
        profile = kit.profile(nozzle)
        sample = pattern_of(
            nozzle,
            profile,
            radius=stand.throw.radius,
            arc=stand.arc,
            spacing=0.5 * grid.cell,
            pressure=kit.pressure,
        )
        spot, surfaces = self.met_at(stand.at), self.surfaces
        flight = flight_of(
            sample, spot, launch=profile.launch, pressure=kit.pressure, arc_start=stand.arc_start, scene=self.scene
        )
        water = fallen(
            flight,
            sample.share,
            _INSTEAD,
            surfaces.code,
            surfaces.origin,
            1 / surfaces.grid.cell,
            (BUILDING, self._on_walls(stand)),
            (grid.x0, grid.y0, grid.cell, grid.nx, grid.ny),
            kit.flow(stand.throw, stand.arc),
        )
        return Footprint(water, self._log_rate(stand), self._odd(stand))

    def _on_walls(self, stand: Stand) -> float:
        """Share of a sector's water that walls stop, direction by direction: parcels miss a sector's thin border."""
        spot, nozzle = self.met_at(stand.at), stand.throw.nozzle
        if stand.arc == 0 or not spot.walled:
            return 0.0
        run = share_within(self.kit.profile(nozzle), pressure=self.kit.pressure / nozzle.design_pressure)
        return stopped_by_walls(spot.hit, spot.kind, WALL, stand.arc_start, stand.arc, stand.throw.radius, run)

    def _odd(self, stand: Stand) -> int:
        if stand.arc in (0.0, 360.0):
            return 0
        key = (*stand.at, stand.throw.radius)
        if key not in self._faced:
            self._faced[key] = STEP * int(np.count_nonzero(self.fan(stand.at).clear > 0.5 * stand.throw.radius))
        return int(stand.arc < 0.8 * self._faced[key])


def make_field(
    lawn_id: str, *, ground: Ground, kit: Kit, scene: Scene, paving_limit: float, radius: float, scale: Scale
) -> Field:
    """Prepare a lawn for the search.

    Parameters: scene, what water meets; paving_limit, share of the water that may land on paving; radius [m] of the
    heads, which sets the cell; scale, see Scale.
    """
    lawn = ground.lawns[lawn_id]
    reach = kit.greatest_radius
    stand = stand_ground(lawn, ground.kinds["building"])
    shapely.prepare(stand)
    rings = tuple(ring for part in shapely.get_parts(stand) for ring in (part.exterior, *part.interiors))
    cell = min(max(radius / 10, math.sqrt(lawn.area / 4000), 0.12), 1.0)
    thin = lawn.area / max(lawn.length / 2, 1e-9)
    cell = max(0.08, min(cell, thin / 11))
    grid = grid_round(lawn.bounds, cell=cell, margin=cell)
    surfaces = draw_surfaces(ground, lawn_id, margin=reach)
    cells = cells_of(lawn, grid)
    return Field(
        kit,
        lawn,
        stand,
        rings,
        segments_of(stand),
        surfaces,
        scene,
        grid,
        cells,
        _spots_of(cells, grid, tuple(ground.drawn[lawn_id].values())),
        paving_limit,
        scale,
    )


def _spots_of(cells: NDArray[np.bool_], grid: Grid, drawn: Sequence[BaseGeometry]) -> Spots:
    """Put a window of about a square metre round every judged cell, less the windows that the edge cuts small."""
    rows, columns = np.nonzero(cells)
    half = max(1, round((_SPOT / grid.cell - 1) / 2))
    top, bottom = np.maximum(rows - half, 0), np.minimum(rows + half + 1, cells.shape[0])
    left, right = np.maximum(columns - half, 0), np.minimum(columns + half + 1, cells.shape[1])
    held = np.pad(cells.astype(np.int64).cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    ground = held[bottom, right] - held[top, right] - held[bottom, left] + held[top, left]
    full = ground >= 0.4 * ground.max()
    x, y = (centres[cells] for centres in grid.centres())
    part = np.full(cells.shape, -1, dtype=np.int32)
    part[cells] = _lawn_of(x, y, drawn)
    middles = np.flatnonzero(cells).astype(np.int32)[full]
    return Spots(part, np.bincount(part[cells], minlength=len(drawn)), middles, 1.0 / ground[full], half)


def _lawn_of(x: Floats, y: Floats, drawn: Sequence[BaseGeometry]) -> NDArray[np.int64]:
    """Which of the lawns as drawn holds each point (n,) [m], or is nearest to it."""
    for one in drawn:
        shapely.prepare(one)
    held = np.array([shapely.intersects_xy(one, x, y) for one in drawn])
    number, none = held.argmax(axis=0), ~held.any(axis=0)
    if none.any():
        number[none] = np.argmin([shapely.distance(one, shapely.points(x[none], y[none])) for one in drawn], axis=0)
    return np.asarray(number)


class State:
    """A set of stands with the sum of their water, and how good it is."""

    def __init__(self, field: Field, stands: list[Stand], *, price: float = 1.0) -> None:
        """Lay the water of all stands; price, what a head costs against the usual weight."""
        self.field = field
        self.price = price
        self.stands: list[Stand] = []
        self.prints: list[Footprint] = []
        self.tally = begun(field.spots)
        self._rates = array("d")  # logarithms of the heads' rates
        self.heads = 0.0  # by what each costs against a new one
        self.odd = 0  # heads set to much less than the lawn they face
        for stand in stands:
            self.add(stand, field.footprint(stand))

    @property
    def rate(self) -> Floats:
        """Water on the grid [m/s]."""
        return self.tally.rate

    def add(self, stand: Stand, footprint: Footprint) -> None:
        """Add a head."""
        self.stands.append(stand)
        self.prints.append(footprint)
        self._rates.append(footprint.log_rate)
        put(self.tally, footprint.water, 1.0)
        self._count(stand, footprint, 1)

    def remove(self, index: int) -> tuple[Stand, Footprint]:
        """Take a head away."""
        stand, footprint = self.stands.pop(index), self.prints.pop(index)
        self._rates.pop(index)
        put(self.tally, footprint.water, -1.0)
        self._count(stand, footprint, -1)
        return stand, footprint

    def replace(self, index: int, stand: Stand, footprint: Footprint) -> None:
        """Set a head otherwise."""
        swap(self.tally, self.prints[index].water, footprint.water)
        self._set(index, stand, footprint)

    def tried(self, index: int, stand: Stand, footprint: Footprint, *, least: float) -> float:
        """Set a head otherwise and weigh the layout so; see cost."""
        old = self.prints[index]
        self._set(index, stand, footprint)
        return swap_and_weigh(self.tally, old.water, footprint.water, *self._limits(), *self._spent(), least)

    def _set(self, index: int, stand: Stand, footprint: Footprint) -> None:
        self._count(self.stands[index], self.prints[index], -1)
        self._count(stand, footprint, 1)
        self.stands[index], self.prints[index], self._rates[index] = stand, footprint, footprint.log_rate

    def cost_without(self, index: int) -> float:
        """What the layout would cost without one of several heads."""
        stand, footprint = self.stands[index], self.prints[index]
        paving, rates, alike = self._limits()
        others = np.concatenate((rates[:index], rates[index + 1 :]))
        self._count(stand, footprint, -1)
        cost = weigh_without(self.tally, footprint.water, paving, others, alike, *self._spent())
        self._count(stand, footprint, 1)
        return cost

    def _count(self, stand: Stand, footprint: Footprint, sign: int) -> None:
        self.heads += sign * stand.weight
        self.odd += sign * footprint.odd

    def cost(self, *, least: float = math.inf) -> float:
        """Weigh the layout: unevenness, water off the lawn, unlike rates, heads and water spent; less is better.

        Where it weighs more than `least` the answer may be infinite: it is not looked at further then.
        """
        return weigh(self.tally, *self._limits(), *self._spent(), least) if self.stands else math.inf

    def harm(self) -> float:
        """The same without what is spent: unevenness, water off the lawn, unlike rates."""
        return weigh(self.tally, *self._limits(), 0.0, math.inf, math.inf)

    def _limits(self) -> tuple[float, Floats, float]:
        return self.field.paving_limit, np.frombuffer(self._rates), self.field.kit.alike

    def _spent(self) -> tuple[float, float]:
        scale = self.field.scale
        return 0.3 * (self.price * self.heads + 0.6 * self.odd) / scale.heads, scale.flow

    def priced(self, price: float) -> "State":
        """Copy the layout at another price of a head."""
        other = State(self.field, [], price=price)
        for stand, footprint in zip(self.stands, self.prints, strict=True):
            other.add(stand, footprint)
        return other
