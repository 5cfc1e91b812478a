"""The soil as layers of thin cells from the ground down, from the yard's texture, own values and what lies over it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.model.growing import Soil, SoilLayer, Texture
from rillwright.model.soils import SoilKind, soil_kinds

__all__ = ["Layer", "Profile", "layers_of", "profile_of"]

Floats = NDArray[np.float64]

CELL = 0.01  # [m] of the cells; the last one of a layer may be thinner


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer with its own or its texture's values."""

    thickness: float  # [m]; of the soil itself as deep as anybody asks
    texture: Texture
    field_capacity: float
    wilting_point: float
    kind: SoilKind


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """Cells from the ground down; arrays (k,)."""

    thickness: Floats  # [m]
    room: Floats  # [m] of water between field capacity and wilting point

    def rooted(self, depth: float | Floats) -> Floats:
        """Share of each cell over a depth [m]; shape of the depth with (k,) at its end."""
        top = np.cumsum(self.thickness) - self.thickness
        return np.asarray(np.clip((np.asarray(depth)[..., None] - top) / self.thickness, 0.0, 1.0), dtype=float)

    def available(self, depth: float) -> float:
        """Water [m] that roots to a depth [m] may take between field capacity and wilting point."""
        return float((self.rooted(depth) * self.room).sum())


def layers_of(soil: Soil) -> tuple[Layer, ...]:
    """The layers, what lies over the soil first; the soil itself has no end."""
    own = SoilLayer(
        thickness=0.0, texture=soil.texture, field_capacity=soil.field_capacity, wilting_point=soil.wilting_point
    )
    return (*(_layer(layer, layer.thickness) for layer in soil.over_it), _layer(own, float("inf")))


def _layer(told: SoilLayer, thickness: float) -> Layer:
    kind = soil_kinds()[told.texture]
    held = kind.field_capacity if told.field_capacity is None else told.field_capacity
    wilts = kind.wilting_point if told.wilting_point is None else told.wilting_point
    return Layer(thickness, told.texture, held, wilts, kind)


def profile_of(soil: Soil, *, depth: float) -> Profile:
    """Cut the soil to a depth [m] into cells. Errors: InputError for no depth."""
    if depth <= 0:
        raise InputError("roots of no depth take up no water: give turf.root_depth above 0")
    thickness: list[float] = []
    room: list[float] = []
    left = depth
    for layer in layers_of(soil):
        part = min(layer.thickness, left)
        if part <= 0:
            continue
        cells = max(1, round(part / CELL))
        thickness += [part / cells] * cells
        room += [part / cells * (layer.field_capacity - layer.wilting_point)] * cells
        left -= part
    return Profile(np.array(thickness), np.array(room))
