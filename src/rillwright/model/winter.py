"""Winter: what freezes, what drains by itself, what compressed air drives out, when, and how spring begins. SI."""

from datetime import date
from typing import Literal

from pydantic import BaseModel, ConfigDict

from rillwright.physics.units import PSI

__all__ = [
    "CLEAR_SHARE",
    "MOST_RUN",
    "PE_LIMIT",
    "POP_UP",
    "RIGID_LIMIT",
    "BlowOut",
    "Compressor",
    "Drained",
    "ExposedBody",
    "FreezeDates",
    "FrostLine",
    "LineFreeze",
    "LowPoint",
    "NightPart",
    "SlowFill",
    "Tonight",
    "Winter",
    "WinterClimate",
    "ZoneBlow",
]

PE_LIMIT = 50 * PSI  # [Pa] 50 psi of air in polyethylene: common practice, no source
RIGID_LIMIT = 80 * PSI  # [Pa] 80 psi in rigid pipe: common practice, no source
POP_UP = 15 * PSI  # [Pa] 15 psi at which pop-up heads have risen and seal; typical of the class, from memory
CLEAR_SHARE = 0.25  # of its volume that a line may still hold as film, ice needing 9 % more room; judgement
MOST_RUN = 120.0  # [s] of air at a stretch: common practice, no source

Point = tuple[float, float]  # [m]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Compressor(_Frozen):
    """A compressor with its tank, regulator and hose."""

    name: str
    tank: float  # [m³]
    air: float  # [m³/s] of free air that it delivers
    air_at: float  # [Pa] gauge, at which it delivers that
    cut_out: float  # [Pa] gauge
    cut_in: float  # [Pa] gauge
    hose_length: float  # [m]
    hose_bore: float  # [m]
    outlet: float = 353.15  # [K] of the air that it delivers, before the tank; 80 °C: typical, from memory
    source: str


class WinterClimate(_Frozen):
    """What the weather record, or the user, says of the winters here."""

    mean: float  # [K] of the year
    indices: tuple[float, ...]  # [K·s] air-freezing index of each winter on record, oldest first
    usual: float  # [K·s] median
    design: float  # [K·s] that pipes should be laid for
    design_is: str  # which winter that is
    season: float  # [s] length of the freezing season of the design winter
    snow: float = 0.0  # [m] that lies on the lawn
    source: str


class FrostLine(_Frozen):
    """How deep frost goes under one kind of surface."""

    surface: str
    n: float  # [-] share of the air's freezing index that the surface feels
    n_source: str
    cover: float  # [m² K/W] of what lies on it
    usual: float  # [m] in a median winter
    design: float  # [m] in the design winter
    most: float  # [m] by Stefan's formula in the design winter: no frost goes deeper
    alpha: float  # [-] thermal ratio of the design winter
    mu: float  # [-] fusion parameter
    factor: float  # [-] lambda


class LineFreeze(_Frozen):
    """Buried pipe against the frost over it."""

    line: str  # 'main' or a zone
    pipe: str
    cover: float  # [m] to its top
    logged: bool  # whether somebody measured the cover
    surface: str  # the worst over it
    frost: float  # [m] there in the design winter
    freezes: bool


class ExposedBody(_Frozen):
    """A part over the ground, or in a box in it, that cold air reaches."""

    name: str  # 'reduced pressure zone at the water entry'
    kind: str  # row of frost_bodies
    count: int = 1
    insulation: float = 0.0  # [m² K/W]
    conductance: float  # [W/K]
    capacity: float  # [J/K]
    water: float  # [kg]
    bursts_at: float  # [-] share of its water that must freeze
    hours_to_ice: float | None  # [s] from 10 °C at -5 °C of still air
    hours_to_harm: float | None  # [s]
    source: str


class LowPoint(_Frozen):
    """A sag that gravity does not empty."""

    line: str
    pipe: str
    at: Point  # [m]
    volume: float  # [m³]
    length: float  # [m] of pipe that stays full


class Drained(_Frozen):
    """One line after its drain stood open."""

    line: str
    holds: float  # [m³]
    drain: str  # node of its lowest drain
    at: Point
    runs_out: float  # [m³] by gravity
    trapped: float  # [m³]
    low_points: tuple[LowPoint, ...]  # largest first
    drains_wanted: int  # further drains that would leave no low point over a cupful


class ZoneBlow(_Frozen):
    """One zone blown out."""

    zone: str
    turn: int  # in the order, from 1
    way: float  # [m] from the fitting to its farthest head
    rise: float  # [m] of its highest head over the fitting
    far_head: str
    volume: float  # [m³] of water that stood in its way
    needs_pressure: float  # [Pa] gauge at the fitting that pushes water to the highest head and lifts the heads
    needs_air: float  # [m³/s] of free air that keeps the far head up with every head blowing
    holds_pressure: float  # [Pa] gauge that the compressor alone keeps at the valve with every head blowing
    first_air: float | None  # [s] of air until the first head blows air
    last_air: float | None  # [s] until the last does; None: some never did
    cycles: int
    runs: tuple[float, ...]  # [s] of air in each cycle
    rests: float  # [s] of filling the tank, all of them
    pushed: float  # [m³] that the plug took out
    swept: float  # [m³] that the air carried out after it
    left: float  # [m³]
    fullest: str  # run that keeps the greatest share of its bore
    fullest_share: float
    status: Literal["cleared", "stalled", "too many cycles"]
    dry: float  # [s] longest time that the heads blew nothing but air in one cycle

    @property
    def seconds(self) -> float:
        """Air and rests [s]."""
        return sum(self.runs) + self.rests


class BlowOut(_Frozen):
    """The blow-out of a plan by one compressor."""

    compressor: Compressor
    regulator: float  # [Pa] gauge
    weakest: str  # what limits it
    limit: float  # [Pa]
    fitting: str  # where the air goes in
    through_breakers: bool  # whether air would pass a backflow device
    most_dry: float  # [s] of air alone before pipe or heads grow too hot
    air_temperature: float  # [K] of the air at the hose, at the most
    zones: tuple[ZoneBlow, ...]  # in order
    not_blown: tuple[str, ...] = ()  # runs of the main that no zone's air passes


class FreezeDates(_Frozen):
    """When one part is first and last harmed, by the record of the weather."""

    part: str
    threshold: float | None  # [K] least temperature of a single night that harms it; None for buried parts
    years: int  # seasons on record
    harmed: int  # of these, with harm at all
    first_median: date | None  # of the season asked for
    first_safe: date | None  # 1 year in 20 has harm earlier
    first_low: date | None  # 90 % band of that
    first_high: date | None
    first_earliest: date | None  # on record
    first_counted: date | None = None  # 1 year in 20, counted off a record long enough to hold it
    last_median: date | None
    last_safe: date | None  # 1 year in 20 has harm later
    last_low: date | None
    last_high: date | None
    last_latest: date | None
    says: str  # how far the record carries
    midsummer: int = 0  # seasons that begin or end with harm, so that no part of the year is free of it
    depth: float | None = None  # [m] of a buried part
    surface: str | None = None  # over it


class NightPart(_Frozen):
    """One part in one cold night."""

    part: str
    ice: float  # [-] share of its water that freezes
    bursts_at: float
    harmed: bool
    hours: float | None  # [s] from the evening until it is harmed


class Tonight(_Frozen):
    """A cold night before the system is drained."""

    low: float  # [K]
    high: float  # [K] of the day before
    parts: tuple[NightPart, ...]
    do: tuple[str, ...]


class SlowFill(_Frozen):
    """Spring: one line filled slowly."""

    line: str
    volume: float  # [m³]
    fill_flow: float  # [m³/s] at which no run is faster than 0.3 m/s
    fill_seconds: float
    full_speed: float  # [m/s] of the water where it would run in by a valve thrown open
    slam: float  # [Pa] when that water meets its end
    allowed: float  # [Pa] that the weakest pipe may see
    open_seconds: float  # [s] over which to open the valve
    pipe: str  # narrowest


class Winter(_Frozen):
    """All of it."""

    climate: WinterClimate | None
    soil: str
    frost: tuple[FrostLine, ...]
    freezes: tuple[LineFreeze, ...]
    bodies: tuple[ExposedBody, ...]
    drained: tuple[Drained, ...]
    blow_out: BlowOut
    dates: tuple[FreezeDates, ...]
    drain_by: date | None
    start_after: date | None
    tonight: Tonight | None
    fills: tuple[SlowFill, ...]
    says: tuple[str, ...]  # what rests on what
