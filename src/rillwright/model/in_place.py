"""What is in the ground of a yard already, and what the user holds fast while the rest is planned."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from rillwright.model.kinds import HeadClass, Id, PipeMaterial
from rillwright.model.quantities import XY, Angle, Length, Money

__all__ = [
    "Existing",
    "ExistingHead",
    "ExistingPipe",
    "ExistingPlace",
    "PinnedHead",
    "PinnedPipe",
    "PinnedZone",
    "Pins",
]


class _Document(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class ExistingHead(_Document):
    """A head in the ground already."""

    id: Id
    at: XY
    head_class: HeadClass
    nozzle: str | None = Field(default=None, max_length=80)  # id in the charts; None when it is not known or worn out
    arc_start: Angle = 0.0  # [°] counter-clockwise from the x axis; of a strip pattern the direction it throws along
    arc: Annotated[Angle, Field(ge=0, le=360)] = 360.0  # [°]; 0 for a strip pattern
    radius: Length | None = None  # [m] it throws, when it has been measured
    moving_cost: Money = 0.0  # [currency] of moving it or taking it out


class ExistingPipe(_Document):
    """A run of pipe in the ground already."""

    id: Id
    role: Literal["main", "lateral"]
    material: PipeMaterial
    size: str = Field(max_length=12)  # trade size
    path: Annotated[list[XY], Field(min_length=2, max_length=500)]
    moving_cost: Money = 0.0  # [currency] of taking it out, or of cutting and capping it


class ExistingPlace(_Document):
    """A valve place in the ground already: its box, dug and set."""

    id: Id
    at: XY
    moving_cost: Money = 0.0  # [currency] of taking it out


class Existing(_Document):
    """What is in the ground of a yard part-built: free where the plan keeps it, at a cost where it does not."""

    heads: Annotated[list[ExistingHead], Field(max_length=500)] = []
    pipes: Annotated[list[ExistingPipe], Field(max_length=500)] = []
    places: Annotated[list[ExistingPlace], Field(max_length=100)] = []


class PinnedHead(_Document):
    """A head that the plan must set here, whatever else it does."""

    id: Id
    at: XY
    head_class: HeadClass
    arc_start: Angle | None = None  # [°] held too when both are given; of a strip pattern the direction it throws along
    arc: Annotated[Angle, Field(ge=0, le=360)] | None = None  # [°]; 0 for a strip pattern


class PinnedZone(_Document):
    """Pinned heads that must share a zone; others may join them."""

    id: Id
    heads: Annotated[list[Id], Field(min_length=2, max_length=100)]


class PinnedPipe(_Document):
    """A stretch of pipe that the plan must lay here; the rest is routed and sized round it."""

    id: Id
    role: Literal["main", "lateral"]
    path: Annotated[list[XY], Field(min_length=2, max_length=500)]
    heads: Annotated[list[Id], Field(max_length=100)] = []  # of a lateral: pinned heads of its zone, which they share
    size: str | None = Field(default=None, max_length=12)  # trade size: this one
    least_size: str | None = Field(default=None, max_length=12)  # trade size: this one or a wider one


class Pins(_Document):
    """What the user holds fast while the rest is planned."""

    heads: Annotated[list[PinnedHead], Field(max_length=500)] = []
    zones: Annotated[list[PinnedZone], Field(max_length=100)] = []
    pipes: Annotated[list[PinnedPipe], Field(max_length=200)] = []
