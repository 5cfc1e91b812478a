"""What the packaged tables say of winter: surfaces, soils, bodies of water over the ground, compressors."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from rillwright.data.tables import Row, read_table
from rillwright.model.winter import Compressor
from rillwright.physics.units import from_system, parse

__all__ = ["BodyData", "CoverData", "FrostSoil", "WinterTables", "compressor_of", "load_winter"]

CFM = parse("1 cfm", "air flow")  # [m³/s]


@dataclass(frozen=True, slots=True)
class CoverData:
    """A surface."""

    n: float  # [-]
    source: str


@dataclass(frozen=True, slots=True)
class FrostSoil:
    """A soil as it stands in autumn."""

    dry_density: float  # [kg/m³]
    water: float  # [-] of dry mass
    fine: bool
    source: str


@dataclass(frozen=True, slots=True)
class BodyData:
    """A body of water in the air."""

    water: float  # [kg]
    metal: float  # [J/K] of the body itself
    area: float  # [m²]
    diameter: float  # [m]
    bears: float  # [Pa]
    source: str


@dataclass(frozen=True, slots=True)
class WinterTables:
    """All of it."""

    covers: Mapping[str, CoverData]
    soils: Mapping[str, FrostSoil]
    bodies: Mapping[str, BodyData]
    compressors: Mapping[str, Compressor]


@cache
def load_winter() -> WinterTables:
    """Read the packaged tables."""
    return WinterTables(
        covers={
            row.text("cover"): CoverData(row.number("n", low=0, high=1), row.text("source"))
            for row in read_table("frost_covers")
        },
        soils={row.text("texture"): _soil(row) for row in read_table("frost_soils")},
        bodies={row.text("body"): _body(row) for row in read_table("frost_bodies")},
        compressors={row.text("compressor"): _compressor(row) for row in read_table("compressors")},
    )


def compressor_of(
    name: str, *, tank: float, air: float, air_at: float, cut_out: float, hose_length: float, hose_bore: float
) -> Compressor:
    """A compressor of the user's own; it cuts in at 0.75 of its cut-out."""
    return Compressor(
        name=name,
        tank=tank,
        air=air,
        air_at=air_at,
        cut_out=cut_out,
        cut_in=0.75 * cut_out,
        hose_length=hose_length,
        hose_bore=hose_bore,
        source="as you said",
    )


def _soil(row: Row) -> FrostSoil:
    return FrostSoil(
        dry_density=row.number("dry_density_kg_m3", low=900, high=2100),
        water=row.number("water_share", low=0.01, high=0.4),
        fine=row.choice("grain", ("coarse", "fine")) == "fine",
        source=row.text("source"),
    )


def _body(row: Row) -> BodyData:
    return BodyData(
        water=row.number("water_kg", low=0.001),
        metal=row.number("metal_kg", low=0) * row.number("metal_j_kg_k", low=0),
        area=row.number("area_m2", low=0.001),
        diameter=row.number("diameter_mm", low=1) / 1000,
        bears=row.number("bears_kpa", low=1) * 1000,
        source=row.text("source"),
    )


def _compressor(row: Row) -> Compressor:
    return Compressor(
        name=row.text("compressor"),
        tank=from_system(row.number("tank_gal", low=0.1), "volume", "US"),
        air=row.number("air_cfm", low=0.1) * CFM,
        air_at=from_system(row.number("at_psi", low=1), "pressure", "US"),
        cut_out=from_system(row.number("cut_out_psi", low=1), "pressure", "US"),
        cut_in=from_system(row.number("cut_in_psi", low=1), "pressure", "US"),
        hose_length=from_system(row.number("hose_ft", low=1), "length", "US"),
        hose_bore=from_system(row.number("hose_in", low=0.1), "bore", "US"),
        outlet=273.15 + row.number("outlet_c", low=0, high=300),
        source=row.text("source"),
    )
