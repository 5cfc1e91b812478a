"""The yard document: the user's facts about one yard, and nothing that a solver made.

Lengths, heights and pressures are SI once read; see quantities.py for how they are typed and written.
Coordinates are local: x to the right, y up on the plan; `north` turns the arrow. Heights share one free datum.
Geometry rules (simple rings, holes inside, things that must not overlap) are in site_rules.py.
"""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StrictBool

from rillwright.model.growing import Climate, ClimateMonth, Controller, Soil, SoilLayer, Span, Turf, Watering
from rillwright.model.in_place import (
    Existing,
    ExistingHead,
    ExistingPipe,
    ExistingPlace,
    PinnedHead,
    PinnedPipe,
    PinnedZone,
    Pins,
)
from rillwright.model.kinds import (
    AREA_KINDS,
    BACKFLOW_KINDS,
    HEAD_CLASSES,
    HOUSE_FLOWS,
    PIPE_MATERIALS,
    Aim,
    AreaKind,
    BackflowKind,
    CheckValves,
    DeviceSize,
    HeadClass,
    HouseUse,
    Id,
    MainLayout,
    PipeMaterial,
    RegulationPlace,
    Ring,
    Unions,
    ValveKind,
)
from rillwright.model.money import MoneyFacts
from rillwright.model.pumps import BoosterPump, PumpPoint, Well
from rillwright.model.quantities import (
    XY,
    Angle,
    Bore,
    Current,
    Duration,
    Flow,
    Height,
    Length,
    Money,
    Pressure,
    Share,
    Speed,
    Temperature,
    Velocity,
    Volume,
)
from rillwright.physics.units import GRAVITY
from rillwright.physics.water import STANDARD_TEMPERATURE, density

__all__ = [
    "AREA_KINDS",
    "BACKFLOW_KINDS",
    "HEAD_CLASSES",
    "HOUSE_FLOWS",
    "PIPE_MATERIALS",
    "YARD_FORMAT",
    "YARD_VERSION",
    "Aim",
    "AreaKind",
    "BackflowChoice",
    "BackflowKind",
    "BoosterPump",
    "BucketFill",
    "CheckValves",
    "Climate",
    "ClimateMonth",
    "Controller",
    "DeviceSize",
    "Existing",
    "ExistingHead",
    "ExistingPipe",
    "ExistingPlace",
    "FlowingGauge",
    "GroundArea",
    "HeadChoice",
    "HeadClass",
    "HouseUse",
    "MainLayout",
    "Measurement",
    "Meter",
    "MeterReading",
    "Origin",
    "PinnedHead",
    "PinnedPipe",
    "PinnedZone",
    "Pins",
    "PipeChoice",
    "PipeMaterial",
    "PumpPoint",
    "RegulationChoice",
    "RegulationPlace",
    "Rules",
    "ServicePipe",
    "Soil",
    "SoilLayer",
    "Span",
    "SpotHeight",
    "StaticGauge",
    "Tree",
    "Turf",
    "ValveChoice",
    "WaterEntry",
    "Watering",
    "Well",
    "Wind",
    "Yard",
]

YARD_FORMAT = "rillwright-yard"
YARD_VERSION = 1
MOST_PHASES = 5  # that a job is built in


class _Document(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class GroundArea(_Document):
    """A polygon of ground, with holes. A later area in the file lies over an earlier one.

    Lawn under a building, bed, paving, water or keep-out is not watered, so a lawn may be drawn round the house
    without cutting the house out. 'roots' is a tree's root zone: a trench there is dear.
    """

    id: Id
    kind: AreaKind
    outline: Ring
    holes: list[Ring] = []
    exposure: Literal["sun", "part shade", "shade"] = "sun"  # of a lawn: part of its hydrozone
    planting: str = Field(default="turf", max_length=60)  # of a lawn: part of its hydrozone
    phase: Annotated[int, Field(ge=1, le=MOST_PHASES, strict=True)] | None = None  # of a lawn: no zone mixes two
    head_classes: list[HeadClass] | None = None  # of a lawn: narrower than heads.allowed
    height: Length = 0.0  # [m] of a bed's plants, which stop water that flies lower; 0 stops none
    keep_dry: StrictBool = False  # of paving: no water may reach it


class Tree(_Document):
    """A tree: the trunk stops pipe and water, the root zone makes a trench dear."""

    id: Id
    at: XY
    trunk_radius: Length = 0.15  # [m]
    root_radius: Length = 1.5  # [m]


class SpotHeight(_Document):
    """Height of the ground at a point."""

    at: XY
    height: Height  # [m]
    error: Length = 0.03  # [m] standard error of the survey: a level about 1 cm, a map's contours 20 cm and more


class ServicePipe(_Document):
    """The pipe that brings the water: from the meter or the street to the water entry."""

    material: PipeMaterial
    size: str = Field(max_length=12)  # trade size, e.g. '3/4 in'
    length: Length  # [m] back to the meter, or to the street when there is no meter
    bore: Bore | None = None  # [m] true inside diameter when measured; else from the dimension table


class Meter(_Document):
    """Water meter by trade size, e.g. '5/8 in'."""

    size: Literal["5/8 in", "3/4 in", "1 in", "1-1/2 in", "2 in"]


class WaterEntry(_Document):
    """Where the sprinkler main joins the house supply."""

    at: XY
    height: Height  # [m] of the pipe there, on the datum of the spot heights
    pipe: ServicePipe
    meter: Meter | None = None
    booster: BoosterPump | None = None  # there, or to be planned with
    well: Well | None = None  # in place of street and meter; the pipe then leads back to its tank
    street_pressure: Pressure | None = None  # [Pa] as the supplier states it, when nobody has measured
    temperature: Temperature = STANDARD_TEMPERATURE  # [K] of the water in the hours of watering

    @property
    def weight(self) -> float:
        """Pressure [Pa/m] of a metre of its water, standing."""
        return density(self.temperature) * GRAVITY


class StaticGauge(_Document):
    """Gauge reading with nothing running."""

    kind: Literal["static gauge"]
    pressure: Pressure  # [Pa]
    height: Height | None = None  # [m] of the gauge; the water entry's height when absent
    pressure_error: Pressure = 14e3  # [Pa] standard error of the gauge, about 2 psi


class FlowingGauge(_Document):
    """Gauge reading while a known flow runs."""

    kind: Literal["gauge at a flow"]
    pressure: Pressure  # [Pa]
    flow: Flow  # [m³/s]
    height: Height | None = None  # [m] of the gauge
    pressure_error: Pressure = 14e3  # [Pa]
    flow_error: Share = 0.05  # standard error as a share of the flow


class BucketFill(_Document):
    """Open-pipe bucket fills: the outlet stands at no pressure, so this is the most the pipe can ever give."""

    kind: Literal["bucket fill"]
    volume: Volume  # [m³] to the mark
    seconds: Annotated[list[Duration], Field(min_length=1, max_length=50)]  # [s] one for each repeat
    start_delay: Duration = 0.0  # [s] on the clock before water reached the bucket
    start_delay_error: Duration = 0.5  # [s] standard error; counts only when there is a delay
    time_error: Duration = 0.3  # [s] standard error of one stopwatch reading
    volume_error: Share = 0.03  # standard error of the mark, the same for every repeat
    outlet_height: Height | None = None  # [m]; the water entry's height when absent
    outlet_bore: Bore | None = None  # [m]; the service pipe's bore when absent


class MeterReading(_Document):
    """Volume through the water meter over a time, with the outlet at a known pressure (0 when it runs open)."""

    kind: Literal["meter reading"]
    volume: Volume  # [m³]
    seconds: Duration  # [s]
    pressure: Pressure = 0.0  # [Pa] gauge at the outlet while running
    pressure_error: Pressure = 14e3  # [Pa] counts only when the pressure is not 0
    height: Height | None = None  # [m] of outlet or gauge
    outlet_bore: Bore | None = None  # [m] when open: the bore it runs out of
    volume_error: Share = 0.015


Measurement = Annotated[StaticGauge | FlowingGauge | BucketFill | MeterReading, Field(discriminator="kind")]


class Wind(_Document):
    """Wind to design for, in the hours when the yard is watered."""

    speed: Speed = 0.0  # [m/s] at 2 m over the ground
    blows_from: Annotated[float, Field(ge=0, le=360, strict=True)] | None = None  # [°] clockwise from north


class HeadChoice(_Document):
    """Head classes the user would fit, and which way to lean where few heads and even water pull apart."""

    allowed: Annotated[list[HeadClass], Field(min_length=1)] = list(HEAD_CLASSES)
    aim: Aim = "balanced"
    check_valves: CheckValves = "where needed"  # in heads that would empty the pipes when their zone stops


class BackflowChoice(_Document):
    """Backflow kinds that the local code allows (ask; the tool cannot know), and one already bought."""

    allowed: Annotated[list[BackflowKind], Field(min_length=1)]
    owned: BackflowKind | None = None  # already bought: used at no cost; another kind is then a way out
    size: DeviceSize | None = None  # of a device before all valves; None: the cheapest that will do
    highest_riser: Length = 1.2  # [m] greatest height above ground that the user accepts for the device


class ValveChoice(_Document):
    """Valve kinds the user would fit, and those already bought."""

    allowed: Annotated[list[ValveKind], Field(min_length=1)] = ["in-line valve", "valve with vacuum breaker"]
    owned: Annotated[int, Field(ge=0, le=200, strict=True)] = 0  # already bought, of the first kind allowed
    unions: Unions = "both sides"  # of each valve in its manifold
    isolating: bool = True  # whether each manifold has a valve that shuts it off
    control_set: Literal["by gauge", "by eye"] = "by gauge"  # how the flow controls will be set on site
    inrush: Current = 0.45  # [A] as one opens: 0.35 to 0.50, practice, no source
    holding: Current = 0.25  # [A] while it stays open: 0.19 to 0.30, practice, no source


class RegulationChoice(_Document):
    """Where the user would have too high a pressure taken down."""

    allowed: Annotated[list[RegulationPlace], Field(max_length=3)] = ["source", "valve", "head"]


class PipeChoice(_Document):
    """Pipe materials for the main (always under pressure) and for the laterals, and how the main is laid."""

    main: Annotated[list[PipeMaterial], Field(min_length=1)] = ["PVC schedule 40", "PE"]
    laterals: Annotated[list[PipeMaterial], Field(min_length=1)] = ["PE", "PVC SDR-21"]
    main_layout: MainLayout = "branched"  # 'looped': valve places in a ring, each fed from two sides


class Rules(_Document):
    """Limits of the design; each default is common practice, see docs/theory/limits.md."""

    highest_velocity: Velocity = 1.524  # [m/s] 5 ft/s in plastic
    highest_service_velocity: Velocity = 2.286  # [m/s] 7.5 ft/s in the service pipe
    meter_share: Share = 0.75  # of the meter's safe maximum flow
    flow_spread: Share = 0.10  # between the heads of a zone that carry the same nozzle
    overspray_paving: Share = 0.05  # of a lawn's water that may land on paving
    lowest_du: Share = 0.60  # evenness below this is a finding
    supply_certainty: Annotated[float, Field(ge=0.5, lt=1.0, strict=True)] = (
        0.95  # chance that the supply gives the safe flow
    )
    house_use: HouseUse = "nothing"  # that may run in the house while the yard is watered
    house_reserve: Flow = 0.0  # [m³/s] held back for the house besides
    popup_height: Length = 0.10  # [m] nozzle over the ground while running: counts for pressure and backflow height
    trench_depth: Length = 0.30  # [m] cover over the pipes
    spare_parts: Share = 0.05  # of small parts bought to have: fittings, clamps, splices, nozzles
    heads_on_slopes: Literal["plumb", "square"] = "plumb"  # how a head is set: upright, or square to the ground

    @property
    def reserve(self) -> float:
        """Flow [m³/s] held back for the house."""
        return HOUSE_FLOWS[self.house_use] + self.house_reserve


class Origin(_Document):
    """Where the plan's point (0, 0) lies on the earth, in WGS84 degrees."""

    lon: Annotated[float, Field(ge=-180, le=180, strict=True)]
    lat: Annotated[float, Field(ge=-89, le=89, strict=True)]


class Yard(_Document):
    """One yard, as its owner knows it."""

    format: Literal["rillwright-yard"] = "rillwright-yard"
    version: Literal[1] = 1
    name: str = Field(min_length=1, max_length=120)
    note: str = Field(default="", max_length=2000)
    units: Literal["US", "metric"]
    north: Angle = 90.0  # [°] direction of north on the plan, counter-clockwise from the x axis
    origin: Origin | None = None
    areas: Annotated[list[GroundArea], Field(min_length=1, max_length=400)]
    trees: Annotated[list[Tree], Field(max_length=400)] = []
    spot_heights: Annotated[list[SpotHeight], Field(max_length=5000)] = []
    water_entry: WaterEntry
    supply: Annotated[list[Measurement], Field(max_length=200)] = []
    controller: Controller
    backflow: BackflowChoice
    heads: HeadChoice = HeadChoice()
    valves: ValveChoice = ValveChoice()
    pipes: PipeChoice = PipeChoice()
    regulation: RegulationChoice = RegulationChoice()
    existing: Existing = Existing()
    pins: Pins = Pins()
    soil: Soil = Soil()
    turf: Turf = Turf()
    wind: Wind = Wind()
    watering: Watering | None = None  # None: nobody has said; Watering's own defaults are assumed
    climate: Climate | None = None  # usual weather, for the programme where no file of weather is given
    rules: Rules = Rules()
    currency: str = Field(default="USD", pattern=r"^[A-Z]{3}$")
    budget: Money | None = None
    money: MoneyFacts = MoneyFacts()

    @property
    def backflow_line(self) -> str:
        """Trade size of the line that a backflow device before all valves is no wider than."""
        return self.backflow.size or self.water_entry.pipe.size

    @property
    def lawns(self) -> tuple[GroundArea, ...]:
        """The lawns, in file order."""
        return tuple(area for area in self.areas if area.kind == "lawn")

    @property
    def watering_terms(self) -> Watering:
        """When water may run, by the yard or as is assumed."""
        return self.watering or Watering()
