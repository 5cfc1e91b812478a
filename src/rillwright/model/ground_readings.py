"""Readings of the ground and of the water meter in the field log: intake by a ring, spot heights, meter pairs."""

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from rillwright.model.quantities import XY, Bore, Depth, Duration, Height, Length, quantity

__all__ = ["NOTHING", "OUTLET", "IntakeLook", "MeterPair", "SoilIntake", "SpotLevel"]

Name = Annotated[str, Field(min_length=1, max_length=60)]
Register = Annotated[float, *quantity("volume", low=0, high=1e7)]  # [m³] all that ever went through a meter

MOST_AT_ONCE = 50.0  # [m³] as for every volume that is measured
NOTHING = "nothing"  # runs: everything shut
OUTLET = "open outlet"


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class IntakeLook(_Frozen):
    """How much water went into the ground by a moment."""

    after: Duration  # [s] since the ring was filled
    soaked: Annotated[float, *quantity("depth", low=0, high=5.0)]  # [m] of water, in all


class SoilIntake(_Frozen):
    """A ring pressed into the ground, filled, and watched as the water goes in."""

    kind: Literal["soil intake"]
    lawn: Name | None = None  # of the yard
    ring: Bore  # [m] inside diameter
    outer_ring: Bore | None = None  # [m] of a second ring kept filled round it, so that the water goes straight down
    readings: Annotated[list[IntakeLook], Field(min_length=3, max_length=200)]
    depth_error: Depth = 1e-3  # [m] standard error of one look at the water's level

    @model_validator(mode="after")
    def _in_order(self) -> "SoilIntake":
        if any(a.after >= b.after or a.soaked > b.soaked for a, b in pairwise(self.readings)):
            raise ValueError("readings must follow one another: 'after' grows, and 'soaked' never falls")
        if self.readings[-1].soaked == 0:
            raise ValueError("no water went in at all: watch longer")
        if self.outer_ring is not None and self.outer_ring <= self.ring:
            raise ValueError("the outer ring must be wider than the inner one")
        return self


class SpotLevel(_Frozen):
    """Height of the ground at a point, on the datum of the yard's spot heights."""

    kind: Literal["spot height"]
    place: XY  # [m]
    height: Height  # [m]
    error: Length = 0.03  # [m] standard error


class MeterPair(_Frozen):
    """The water meter read twice: before and after a time in which one thing ran, or nothing."""

    kind: Literal["meter pair"]
    running: Name = NOTHING  # NOTHING, OUTLET or a zone
    before: Register  # [m³]
    after: Register  # [m³]
    seconds: Annotated[Duration, Field(gt=0)]  # [s] between the two looks
    read_error: Annotated[float, *quantity("volume", low=0, high=1.0)] = 5e-4  # [m³] standard error of one look

    @model_validator(mode="after")
    def _forward(self) -> "MeterPair":
        if self.after < self.before:
            raise ValueError("a meter counts up: 'after' must not be less than 'before'")
        if self.running != NOTHING and self.after == self.before:
            raise ValueError(f"{self.running} ran and the meter stood still: read it again")
        if self.running != NOTHING and self.volume > MOST_AT_ONCE:
            raise ValueError(f"over 50 m³ (13,209 gal) while {self.running} ran: look at the digits and the unit")
        return self

    @property
    def volume(self) -> float:
        """Water that went through [m³]."""
        return self.after - self.before
