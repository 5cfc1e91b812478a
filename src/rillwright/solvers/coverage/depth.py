"""Water on the ground: each head's pattern as parcels of flow that land on a grid.

A parcel carries a share of its head's flow to one point, so the sum over all parcels is the flow of all nozzles,
whatever stops them on the way. Formulas and sources: docs/theory/coverage.md.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue, Nozzle, Pattern, Profile, strip_reach
from rillwright.model.plan import Head
from rillwright.solvers.coverage.grid import Grid
from rillwright.solvers.coverage.shadow import hit_distances, segments_of

__all__ = ["WaterBalance", "deposit", "parcels_of", "pattern_of", "share_within", "water_balance", "water_rate"]

Floats = NDArray[np.float64]

_PARCELS_PER_CELL = 0.5  # parcel spacing as a share of the cell: even parcels half a cell apart lie evenly on the grid
_PAST_THE_FACE = 0.01  # [m] a stopped parcel lands this deep in what stopped it


@dataclass(frozen=True, slots=True)
class WaterBalance:
    """Where the water of a set of heads lands [m³/s]; the four add up to the flow of all nozzles."""

    on_lawn: float
    on_paving: float
    on_building: float
    off_site: float
    elsewhere: float

    @property
    def total(self) -> float:
        """All the water [m³/s]."""
        return self.on_lawn + self.on_paving + self.on_building + self.off_site + self.elsewhere


def pattern_of(nozzle: Nozzle, profile: Profile, *, radius: float, arc: float, spacing: float) -> tuple[Floats, ...]:
    """Sample a nozzle's pattern, thrown along the x axis from the origin.

    Parameters: radius [m], of a strip its length; arc [°]; spacing [m] of the samples, about.
    Returns: distance [m], direction [rad] and share of the flow, each of shape (n,); the shares add up to 1.
    A sector lies between directions 0 and `arc`, a strip as far as strip_reach says.
    """
    key = (round(radius, 3), round(arc, 2), round(spacing, 4))
    if nozzle.pattern == "sector":
        return _sector(profile.distance, profile.rate, *key)
    return _strip(profile.distance, profile.rate, nozzle.pattern, nozzle.width, key[0], key[2])


@lru_cache(maxsize=2048)
def _sector(
    share: tuple[float, ...], rate: tuple[float, ...], radius: float, arc: float, spacing: float
) -> tuple[Floats, ...]:
    rings = max(8, math.ceil(radius / spacing))
    middle = (np.arange(rings) + 0.5) / rings
    flow = np.interp(middle, share, rate) * middle
    count = np.maximum(1, np.ceil(math.radians(arc) * middle * radius / spacing)).astype(int)
    ring = np.repeat(np.arange(rings), count)
    place = np.arange(len(ring)) - np.repeat(np.cumsum(count) - count, count)
    direction = math.radians(arc) * (place + 0.5) / count[ring]
    return middle[ring] * radius, direction, (flow / (count * flow.sum()))[ring]


@lru_cache(maxsize=256)
def _strip(
    share: tuple[float, ...], rate: tuple[float, ...], pattern: Pattern, width: float, length: float, spacing: float
) -> tuple[Floats, ...]:
    behind, reach, right, _ = strip_reach(pattern, length=length, width=width)
    along = (np.arange(max(8, math.ceil(reach / spacing))) + 0.5) * reach / max(8, math.ceil(reach / spacing))
    weight = np.interp(along / reach, share, rate)
    if behind > 0:
        along, weight = np.concatenate((-along[::-1], along)), np.concatenate((weight[::-1], weight))
    rows = max(4, math.ceil(width / spacing))
    across = (np.arange(rows) + 0.5) * width / rows - right
    x, y = np.repeat(along, rows), np.tile(across, len(along))
    flow = np.repeat(weight, rows)
    return np.hypot(x, y), np.arctan2(y, x), flow / flow.sum()


def share_within(profile: Profile, distance: Floats) -> Floats:
    """Share of a sector's flow that falls within distances given as shares of the radius; any shape."""
    radius, flow = _running(profile.distance, profile.rate)
    return np.asarray(np.interp(distance, radius, flow))


@lru_cache(maxsize=64)
def _running(share: tuple[float, ...], rate: tuple[float, ...]) -> tuple[Floats, Floats]:
    radius = np.linspace(0.0, 1.0, 201)
    middle = (radius[1:] + radius[:-1]) / 2
    flow = np.concatenate(([0.0], np.cumsum(np.interp(middle, share, rate) * middle)))
    return radius, flow / flow[-1]


def parcels_of(
    head: Head, *, catalogue: Catalogue, spacing: float, faces: Floats | None = None
) -> tuple[Floats, Floats, Floats]:
    """Throw one head's water: where its parcels land and the flow each carries.

    Parameters: head, whose radius and flow count as they stand; spacing [m] of the parcels; faces (n, 4) [m], pieces
    of wall (x, y, x, y) that stop water: a stopped parcel lands just inside the wall.
    Returns: x [m], y [m], flow [m³/s], each of shape (n,).
    """
    nozzle = catalogue.nozzles[head.nozzle]
    profile = catalogue.profiles[nozzle.profile]
    distance, direction, share = pattern_of(nozzle, profile, radius=head.radius, arc=head.arc, spacing=spacing)
    angle = direction + math.radians(head.arc_start)
    if faces is not None and len(faces):
        hit = hit_distances(head.at, faces, reach=float(distance.max()))
        index = np.rint(angle * (len(hit) / math.tau)).astype(int) % len(hit)
        distance = np.minimum(distance, hit[index] + _PAST_THE_FACE)
    return head.at[0] + distance * np.cos(angle), head.at[1] + distance * np.sin(angle), share * head.flow


def deposit(x: Floats, y: Floats, amount: Floats, grid: Grid) -> Floats:
    """Lay amounts at points on a grid: each is shared among the four nearest cell centres, so their sum stays.

    Parameters: x, y [m] and amount, shape (n,). Returns: amount in each cell, shape (ny, nx); what falls off the grid
    is left out. Source: cloud-in-cell weights of particle methods, any text.
    """
    column = (x - grid.x0) / grid.cell - 0.5
    row = (y - grid.y0) / grid.cell - 0.5
    left, low = np.floor(column), np.floor(row)
    right_share, high_share = column - left, row - low
    wide = grid.nx + 2  # one cell of spare all round takes what is off the grid
    column_index = np.clip(left.astype(np.int64) + 1, 0, grid.nx)
    row_index = np.clip(low.astype(np.int64) + 1, 0, grid.ny)
    base = row_index * wide + column_index
    off = (left < -1) | (left >= grid.nx) | (low < -1) | (low >= grid.ny)
    amount = np.where(off, 0.0, amount)
    upper, lower = amount * high_share, amount * (1 - high_share)
    index = np.concatenate((base, base + 1, base + wide, base + wide + 1))
    part = np.concatenate(
        (lower * (1 - right_share), lower * right_share, upper * (1 - right_share), upper * right_share)
    )
    total = np.bincount(index, weights=part, minlength=wide * (grid.ny + 2))
    return np.asarray(total.reshape(grid.ny + 2, wide)[1:-1, 1:-1])


def water_rate(
    heads: Iterable[Head], *, catalogue: Catalogue, grid: Grid, blockers: BaseGeometry | None = None
) -> Floats:
    """Precipitation rate [m/s] on every cell with all the heads running; shape (ny, nx).

    Parameters: heads, whose radius and flow count as they stand; blockers, shapes that stop water, such as buildings.
    """
    faces = None if blockers is None else segments_of(blockers)
    spacing = _PARCELS_PER_CELL * grid.cell
    rate = np.zeros((grid.ny, grid.nx))
    for head in heads:
        rate += deposit(*parcels_of(head, catalogue=catalogue, spacing=spacing, faces=faces), grid)
    return rate / grid.cell**2


def water_balance(
    heads: Iterable[Head], *, catalogue: Catalogue, ground: Ground, lawn_id: str, spacing: float = 0.08
) -> WaterBalance:
    """Say where the water of the heads lands, parcel by parcel against the outlines themselves.

    The grid is left out on purpose: its cells straddle outlines, and a wall needs a sharper answer than that.
    Water that meets a building counts as on the building; on a trunk, bed or other lawn as elsewhere.
    """
    faces = segments_of(ground.stops_water)
    targets = (ground.lawns[lawn_id], ground.kinds["paving"], ground.kinds["building"], ground.site)
    for shape in targets:
        shapely.prepare(shape)
    landed, total = np.zeros(len(targets)), 0.0
    for head in heads:
        x, y, flow = parcels_of(head, catalogue=catalogue, spacing=spacing, faces=faces)
        landed += [flow[np.asarray(shapely.contains_xy(shape, x, y))].sum() for shape in targets]
        total += float(flow.sum())
    on_lawn, on_paving, on_building, on_site = (float(part) for part in landed)
    elsewhere = max(0.0, on_site - on_lawn - on_paving - on_building)
    return WaterBalance(on_lawn, on_paving, on_building, max(0.0, total - on_site), elsewhere)
