"""Soils and turf by kind, from the packaged tables."""

from dataclasses import dataclass
from functools import cache

from rillwright.data.tables import read_table
from rillwright.model.growing import TEXTURES, Texture, TurfGroup
from rillwright.physics.evapotranspiration import ZERO_CELSIUS

__all__ = ["SoilKind", "TurfKind", "soil_kinds", "turf_kinds"]

TURF_GROUPS: tuple[TurfGroup, ...] = ("cool season", "warm season")


@dataclass(frozen=True, slots=True)
class SoilKind:
    """What soil of a texture usually is like."""

    field_capacity: float  # of the volume
    wilting_point: float
    pores: float
    suction: float  # [m] at a wetting front
    curve_number: float  # of a lawn in good condition
    source: str


@dataclass(frozen=True, slots=True)
class TurfKind:
    """What turf of a group usually needs."""

    crop_coefficient: float
    depletion: float  # of the available water, without stress at 5 mm a day
    seed_soil: tuple[float, float]  # [K] of the soil in which seed does well
    weeks_before_frost: float  # that seed needs
    days_to_sprout: float
    source: str


@cache
def soil_kinds() -> dict[Texture, SoilKind]:
    """Soils by texture."""
    return {
        row.choice("texture", TEXTURES): SoilKind(
            field_capacity=row.number("field_capacity", low=0.01, high=0.6),
            wilting_point=row.number("wilting_point", low=0.01, high=0.6),
            pores=row.number("pores", low=0.1, high=0.8),
            suction=row.number("suction_mm", low=1) * 1e-3,
            curve_number=row.number("curve_number", low=1, high=100),
            source=row.text("source"),
        )
        for row in read_table("soils")
    }


@cache
def turf_kinds() -> dict[TurfGroup, TurfKind]:
    """Turf by group."""
    return {
        row.choice("group", TURF_GROUPS): TurfKind(
            crop_coefficient=row.number("crop_coefficient", low=0.1, high=1.5),
            depletion=row.number("depletion", low=0.1, high=0.8),
            seed_soil=(row.number("seed_soil_low_c") + ZERO_CELSIUS, row.number("seed_soil_high_c") + ZERO_CELSIUS),
            weeks_before_frost=row.number("weeks_before_frost", low=0),
            days_to_sprout=row.number("days_to_sprout", low=1),
            source=row.text("source"),
        )
        for row in read_table("turf")
    }
