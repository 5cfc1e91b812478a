"""Water on the ground: each head's pattern as parcels of flow that land on a grid.

A parcel carries a share of its head's flow to one point, so the sum over all parcels is the flow of all nozzles,
whatever stops or drifts them on the way. Formulas and sources: docs/theory/coverage.md.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rillwright.model.parts import Catalogue, Nozzle, Pattern, Profile, strip_reach
from rillwright.model.plan import Head
from rillwright.solvers.coverage.flight import NO_PATHS, drift_table, path_table
from rillwright.solvers.coverage.grid import Grid
from rillwright.solvers.coverage.kernels import Flight, cell_span, lay, spread, throw
from rillwright.solvers.coverage.shadow import OPEN, PLANTS, Scene, Spot, spot_at

__all__ = [
    "Depth",
    "Sample",
    "Thrown",
    "flight_of",
    "parcels_of",
    "patch_of",
    "pattern_of",
    "share_within",
    "thrown_by",
    "water_rate",
]

Floats = NDArray[np.float64]
Patch = tuple[tuple[slice, slice], Floats]  # a window of the grid, and the rate [m/s] on it

_SMALL = 64  # rings of samples up to which a sector takes half a megabyte, so that many can be kept
_PARCELS_PER_CELL = 0.5  # parcel spacing as a share of the cell: even parcels half a cell apart lie evenly on the grid


@dataclass(frozen=True, slots=True)
class Sample:
    """A nozzle's pattern in still air over level ground, thrown along the x axis from the origin; arrays (n,)."""

    distance: Floats  # [m]
    direction: Floats  # [rad]
    cosine: Floats
    sine: Floats
    share: Floats  # of the flow; the shares add up to 1
    reach: float  # [m] of the farthest water


@dataclass(frozen=True, slots=True)
class Thrown:
    """Where a head's parcels land, in the wind over its slope; arrays (n,)."""

    x: Floats  # [m]
    y: Floats  # [m]
    share: Floats  # of the flow
    stopped: NDArray[np.int8]  # by what: FREE, WALL, BARK or PLANTS


def pattern_of(
    nozzle: Nozzle, profile: Profile, *, radius: float, arc: float, spacing: float, pressure: float
) -> Sample:
    """Sample a nozzle's pattern.

    Parameters: radius [m], of a strip its length; arc [°]; spacing [m] of the samples, about; pressure [Pa] at the
    nozzle, which bends the profile. A sector lies between directions 0 and `arc`, a strip as strip_reach says.
    """
    key = (round(radius, 3), round(arc, 2), round(spacing, 4))
    rate = profile.at(pressure / nozzle.design_pressure)
    if nozzle.pattern == "sector":
        known = _small_sector if radius <= _SMALL * spacing else _large_sector
        return known(profile.distance, rate, *key)
    return _strip(profile.distance, rate, nozzle.pattern, nozzle.width, key[0], key[2])


def _sector(share: tuple[float, ...], rate: tuple[float, ...], radius: float, arc: float, spacing: float) -> Sample:
    rings = max(8, math.ceil(radius / spacing))
    middle = (np.arange(rings) + 0.5) / rings
    flow = np.interp(middle, share, rate) * middle
    count = np.maximum(1, np.ceil(math.radians(arc) * middle * radius / spacing)).astype(int)
    distance, direction, cosine, sine, part = np.empty((5, int(count.sum())))
    each = flow / (count * flow.sum())
    spread(middle * radius, count, each, math.radians(arc), distance, direction, cosine, sine, part)
    return Sample(distance, direction, cosine, sine, part, radius)


_small_sector, _large_sector = lru_cache(maxsize=512)(_sector), lru_cache(maxsize=64)(_sector)


@lru_cache(maxsize=256)
def _strip(
    share: tuple[float, ...], rate: tuple[float, ...], pattern: Pattern, width: float, length: float, spacing: float
) -> Sample:
    behind, reach, right, _ = strip_reach(pattern, length=length, width=width)
    along = (np.arange(max(8, math.ceil(reach / spacing))) + 0.5) * reach / max(8, math.ceil(reach / spacing))
    weight = np.interp(along / reach, share, rate)
    if behind > 0:
        along, weight = np.concatenate((-along[::-1], along)), np.concatenate((weight[::-1], weight))
    rows = max(4, math.ceil(width / spacing))
    across = (np.arange(rows) + 0.5) * width / rows - right
    x, y = np.repeat(along, rows), np.tile(across, len(along))
    flow = np.repeat(weight, rows)
    distance, direction = np.hypot(x, y), np.arctan2(y, x)
    part = flow / flow.sum()
    return Sample(distance, direction, np.cos(direction), np.sin(direction), part, float(distance.max()))


def share_within(profile: Profile, *, pressure: float) -> Floats:
    """Share of a sector's flow that falls within 201 even shares of the radius; pressure, of the design pressure."""
    return _running(profile.distance, profile.at(pressure))


@lru_cache(maxsize=64)
def _running(share: tuple[float, ...], rate: tuple[float, ...]) -> Floats:
    radius = np.linspace(0.0, 1.0, 201)
    middle = (radius[1:] + radius[:-1]) / 2
    flow = np.concatenate(([0.0], np.cumsum(np.interp(middle, share, rate) * middle)))
    return np.asarray(flow / flow[-1])


def flight_of(sample: Sample, spot: Spot, *, launch: float, pressure: float, arc_start: float, scene: Scene) -> Flight:
    """A pattern's parcels as they leave a spot, and what they may meet; parameters as for thrown_by."""
    height, radius = scene.nozzle_height, sample.reach
    drift = drift_table(
        pressure=pressure,
        launch=launch,
        height=height,
        radius=radius,
        slope=spot.slope,
        wind=scene.wind,
        square=scene.square,
    )
    path = path_table(pressure=pressure, launch=launch, height=height, radius=radius) if spot.planted else NO_PATHS
    turn = math.radians(arc_start)
    return Flight(
        sample.distance,
        sample.direction,
        sample.cosine,
        sample.sine,
        spot.at,
        turn,
        radius,
        spot.hit,
        spot.kind,
        spot.low,
        spot.low_height,
        PLANTS,
        path,
        drift,
    )


def thrown_by(sample: Sample, spot: Spot, *, launch: float, pressure: float, arc_start: float, scene: Scene) -> Thrown:
    """Throw a pattern from a spot.

    Parameters: launch [°] of the water over level; pressure [Pa] at the nozzle; arc_start [°]. A parcel that meets a
    wall, a trunk or plants taller than its path lands there; what flies free is shifted by wind and slope.
    """
    flight = flight_of(sample, spot, launch=launch, pressure=pressure, arc_start=arc_start, scene=scene)
    count = len(sample.distance)
    x, y, stopped = np.empty(count), np.empty(count), np.empty(count, dtype=np.int8)
    throw(flight, x, y, stopped)
    return Thrown(x, y, sample.share, stopped)


def parcels_of(head: Head, *, catalogue: Catalogue, spacing: float, scene: Scene = OPEN) -> Thrown:
    """Throw one head's water; its radius and pressure count as they stand. Parameters: spacing [m] of the parcels."""
    nozzle = catalogue.nozzles[head.nozzle]
    profile = catalogue.profiles[nozzle.profile]
    sample = pattern_of(nozzle, profile, radius=head.radius, arc=head.arc, spacing=spacing, pressure=head.pressure)
    spot = spot_at(head.at, scene, reach=sample.reach)
    return thrown_by(sample, spot, launch=profile.launch, pressure=head.pressure, arc_start=head.arc_start, scene=scene)


def patch_of(
    head: Head, *, catalogue: Catalogue, grid: Grid, scene: Scene = OPEN
) -> tuple[tuple[slice, slice], Floats]:
    """Where on a grid one head's water falls, and its rate [m/s] there; the head counts as it stands."""
    water = parcels_of(head, catalogue=catalogue, spacing=_PARCELS_PER_CELL * grid.cell, scene=scene)
    left, right = cell_span(water.x.min(), water.x.max(), grid.x0, grid.cell, grid.nx)
    low, high = cell_span(water.y.min(), water.y.max(), grid.y0, grid.cell, grid.ny)
    part = np.zeros((high - low, right - left))
    x0, y0 = grid.x0 + left * grid.cell, grid.y0 + low * grid.cell
    lay(water.x, water.y, water.share * (head.flow / grid.cell**2), x0, y0, grid.cell, part)
    return (slice(low, high), slice(left, right)), part


def water_rate(heads: Iterable[Head], *, catalogue: Catalogue, grid: Grid, scene: Scene = OPEN) -> Floats:
    """Precipitation rate [m/s] on every cell with all the heads running; shape (ny, nx).

    Parameters: heads, whose radius, flow and pressure count as they stand; scene, what the water meets.
    """
    rate, spacing = np.zeros((grid.ny, grid.nx)), _PARCELS_PER_CELL * grid.cell
    for head in heads:
        water = parcels_of(head, catalogue=catalogue, spacing=spacing, scene=scene)
        lay(water.x, water.y, water.share * (head.flow / grid.cell**2), grid.x0, grid.y0, grid.cell, rate)
    return rate


class Depth:
    """The rate of water on a grid with each head's part kept apart: to set one head anew costs one head's work."""

    def __init__(self, heads: Iterable[Head], *, catalogue: Catalogue, grid: Grid, scene: Scene = OPEN) -> None:
        """Lay the water of all heads."""
        self.grid = grid
        self._catalogue, self._scene = catalogue, scene
        self._rate = np.zeros((grid.ny, grid.nx))
        self._parts: dict[str, tuple[Head, Patch]] = {}
        self.put(*heads)

    @property
    def heads(self) -> Mapping[str, Head]:
        """The heads as they stand, by id."""
        return {name: head for name, (head, _) in self._parts.items()}

    def rate(self) -> Floats:
        """Precipitation rate [m/s] on every cell, shape (ny, nx): a copy, never under 0."""
        return np.maximum(self._rate, 0.0)

    def put(self, *heads: Head) -> None:
        """Set heads, each in the place of the one with its id; those that stand so already cost nothing."""
        for head in heads:
            old = self._parts.get(head.id)
            if old is not None:
                if old[0] == head:
                    continue
                window, part = old[1]
                self._rate[window] -= part
            window, part = patch_of(head, catalogue=self._catalogue, grid=self.grid, scene=self._scene)
            self._rate[window] += part
            self._parts[head.id] = (head, (window, part))
