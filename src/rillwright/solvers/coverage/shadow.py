"""What water meets at the place of a head: walls, trunks and planting that stop it, the fall of the ground, wind."""

import math
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from rillwright.model.ground import Ground
from rillwright.model.site import Yard
from rillwright.model.terrain import Terrain
from rillwright.solvers.coverage.kernels import CROSSINGS, DIRECTIONS, cross_outline, first_hits

__all__ = ["BARK", "FREE", "OPEN", "PLANTS", "WALL", "Planting", "Scene", "Spot", "scene_of", "segments_of", "spot_at"]

Floats = NDArray[np.float64]

FREE, WALL, BARK, PLANTS = range(4)  # what stopped a parcel

_SLOPE_REACH = 4.0  # [m] over which the fall of the ground at a head is taken
_SLOPE_STEP = 0.02  # [m/m] slopes are rounded to this, so that heads share their tables of flight


def _no_faces() -> Floats:
    return np.empty((0, 4))


@dataclass(frozen=True, slots=True)
class Planting:
    """A bed whose plants stop water that flies lower than they stand."""

    faces: Floats  # (n, 4) [m]
    height: float  # [m]


@dataclass(frozen=True, slots=True)
class Scene:
    """What the water of the heads of a yard meets."""

    walls: Floats = field(default_factory=_no_faces)  # (n, 4) [m] pieces of wall (x, y, x, y)
    bark: Floats = field(default_factory=_no_faces)  # (n, 4) [m] of trunks
    plants: tuple[Planting, ...] = ()
    terrain: Terrain | None = None  # None is level ground
    square: bool = False  # heads stand square to the ground, not plumb
    nozzle_height: float = 0.10  # [m] over the ground
    wind: tuple[float, float] = (0.0, 0.0)  # [m/s] at 2 m over the ground, the way it blows


OPEN = Scene()


@dataclass(frozen=True, slots=True)
class Spot:
    """What water meets that is thrown from one place."""

    at: tuple[float, float]  # [m]
    hit: Floats  # (720,) [m] to the first wall or trunk in each even direction from the x axis; inf where none
    kind: NDArray[np.int8]  # (720,) what it is
    low: Floats  # (plantings, 720, CROSSINGS) [m] where a direction enters, leaves, enters.. each planting
    low_height: Floats  # (plantings,) [m]; none when no planting is near
    slope: tuple[float, float]  # [m/m] rise of the ground along x and y
    walled: bool  # whether any wall or trunk is near
    planted: bool  # whether any planting is


def scene_of(ground: Ground, yard: Yard, *, wind: tuple[float, float] = (0.0, 0.0)) -> Scene:
    """The yard as water meets it, in a wind [m/s] as it blows; still air when left out."""
    return Scene(
        walls=segments_of(ground.kinds["building"]),
        bark=segments_of(ground.trunks),
        plants=tuple(Planting(segments_of(shape), height) for shape, height in ground.plants),
        terrain=ground.terrain,
        square=yard.rules.heads_on_slopes == "square",
        nozzle_height=yard.rules.popup_height,
        wind=wind,
    )


def segments_of(shape: BaseGeometry) -> Floats:
    """Every straight piece of a shape's outlines, as rows (x, y, x, y) [m]; shape (n, 4)."""
    rings = shapely.get_rings(shapely.get_parts(shape))
    if len(rings) == 0:
        return _no_faces()
    corners, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    return np.hstack((corners[:-1][same], corners[1:][same]))


def spot_at(at: tuple[float, float], scene: Scene, *, reach: float) -> Spot:
    """Look round from a place [m]; faces farther off than `reach` [m] are left out."""
    hit, kind = np.full(DIRECTIONS, math.inf), np.full(DIRECTIONS, FREE, dtype=np.int8)
    first_hits(*at, scene.walls, reach, hit, kind, WALL)
    first_hits(*at, scene.bark, reach, hit, kind, BARK)
    low = np.full((len(scene.plants), DIRECTIONS, CROSSINGS), math.inf)
    for planting, crossed in zip(scene.plants, low, strict=True):
        cross_outline(*at, planting.faces, reach, crossed)
    planted, walled = bool(np.isfinite(low).any()), bool((kind != FREE).any())
    heights = np.array([planting.height for planting in scene.plants]) if planted else np.empty(0)
    return Spot(at, hit, kind, low, heights, _slope(at, scene.terrain), walled, planted)


def _slope(at: tuple[float, float], terrain: Terrain | None) -> tuple[float, float]:
    """Rise of the ground [m/m] along x and y, rounded."""
    if terrain is None:
        return 0.0, 0.0
    x, y = terrain.gradient([at], reach=_SLOPE_REACH)[0]
    return round(x / _SLOPE_STEP) * _SLOPE_STEP, round(y / _SLOPE_STEP) * _SLOPE_STEP
