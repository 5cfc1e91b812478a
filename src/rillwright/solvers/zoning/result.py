"""What a zoning is asked and what it answers."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from rillwright.model.findings import Proof
from rillwright.solvers.places import PlaceOption

__all__ = ["Clash", "HeadLoad", "ZoneGroup", "ZoneProblem", "Zoning"]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class HeadLoad:
    """What zoning needs to know of one head."""

    id: str
    at: Point  # [m]
    level: float  # [m] outlet level
    flow: float  # [m³/s]
    capacity: float  # [m³/s] largest total flow of a zone that holds this head
    group: str  # only heads of one group may share a zone


@dataclass(frozen=True, slots=True)
class ZoneProblem:
    """Heads to be put into zones, where valves may stand, and what each thing costs."""

    loads: tuple[HeadLoad, ...]
    options: tuple[PlaceOption, ...]
    may_serve: Mapping[str, frozenset[str]]  # place id -> ids of the heads it may serve
    stations: int
    place_cost: float  # [currency] of a place: device, box
    zone_cost: float  # [currency] of a zone
    trench_cost: float  # [currency/m]
    clearance: float = 0.0  # [m] of the device over outlets, for the report of a height clash only
    distance: Callable[[Point, Point], float] = math.dist  # [m] trench between two points


@dataclass(frozen=True, slots=True)
class ZoneGroup:
    """Heads that share a zone, and the place of its valve."""

    heads: tuple[str, ...]
    place: str


@dataclass(frozen=True, slots=True)
class Clash:
    """A limit that cannot be kept, and by how much."""

    kind: Literal["flow", "height", "stations"]
    where: str  # head id, or 'controller'
    need: float  # flow: the head's [m³/s]; height: level the device must reach [m]; stations: zones needed
    have: float  # flow: its capacity [m³/s]; height: greatest level any place offers [m]; stations: there are

    @property
    def short(self) -> float:
        """What is missing, in the unit of need and have."""
        return self.need - self.have


@dataclass(frozen=True, slots=True)
class Zoning:
    """Zones and their places; none when a head cannot be zoned at all."""

    groups: tuple[ZoneGroup, ...]
    places_used: tuple[str, ...]
    cost: float  # [currency] estimate: places, zones, trenches
    proofs: tuple[Proof, ...]
    status: Literal["optimal", "feasible", "infeasible"]
    clashes: tuple[Clash, ...] = ()

    @property
    def hard(self) -> int:
        """Number of clashes that no station mends."""
        return sum(clash.kind != "stations" for clash in self.clashes)

    @property
    def stations_missing(self) -> int:
        """Stations that the controller lacks."""
        return sum(int(clash.short) for clash in self.clashes if clash.kind == "stations")
