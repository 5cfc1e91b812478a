"""The plan: what the solvers made of one yard. Immutable, SI, readable again from plan.json."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

from rillwright.model.certainty import Certainty
from rillwright.model.change import Change
from rillwright.model.cycling import Cycling
from rillwright.model.drainage import Drainage
from rillwright.model.findings import Finding, Proof, WayOut
from rillwright.model.flushing import Flushing
from rillwright.model.front import FrontPoint
from rillwright.model.lawn_water import Spill, WindyWater
from rillwright.model.main_ring import MainChoice
from rillwright.model.parts import Pattern
from rillwright.model.placed import PipeCutting, PlacedPart
from rillwright.model.protection import Surge
from rillwright.model.regulation import Regulation
from rillwright.model.site import BackflowKind, DeviceSize, HeadClass, PipeMaterial, Yard
from rillwright.model.supply_report import CurvePoint, MeasuredPoint, SupplyCurve, SupplyLimit, SupplyReport
from rillwright.model.wire import WirePlan

__all__ = [
    "Cost",
    "CurvePoint",
    "Evenness",
    "ExistingUse",
    "Head",
    "Lawn",
    "LeastCost",
    "LossStep",
    "MeasuredPoint",
    "Node",
    "NozzleUsed",
    "PartLine",
    "Pipe",
    "Plan",
    "SearchStep",
    "Start",
    "StartZone",
    "SupplyCurve",
    "SupplyLimit",
    "SupplyReport",
    "Trench",
    "ValvePlace",
    "Zone",
]

Point = tuple[float, float]  # [m]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Evenness(_Frozen):
    """How evenly the water falls on a piece of lawn."""

    cu: float  # [0..1] Christiansen
    du: float  # [0..1] low quarter
    scheduling: float  # [-] mean over the driest 5 % window
    mean_rate: float  # [m/s] precipitation rate with all its zones running
    driest: Point  # centre of the driest window


class LawnPart(_Frozen):
    """One drawn lawn of several that touch and are watered as one."""

    id: str
    area: float  # [m²] really lawn, after what lies on it
    evenness: Evenness


class Lawn(LawnPart):
    """One lawn, or several that touch and are watered as one, and the water on it."""

    head_class: HeadClass
    hydrozone: str
    water: float  # [m³/s] out of its nozzles
    on_lawn: float  # [m³/s]
    on_paving: float  # [m³/s]
    on_building: float  # [m³/s]
    off_site: float  # [m³/s] beyond the drawn ground: a neighbour, a street
    elsewhere: float  # [m³/s] on beds, other lawns, water, trunks
    keep_dry: float = 0.0  # [m³/s] of on_paving, on paving that is to stay dry
    spills: tuple[Spill, ...] = ()  # heads that wet paving or what lies off the site, worst first
    in_wind: WindyWater | None = None  # None in still air
    parts: tuple[LawnPart, ...] = ()  # the lawns drawn, where there are several

    @property
    def least_du(self) -> float:
        """DU of the low quarter, of the lawn or of its worst part."""
        return min(one.evenness.du for one in (self, *self.parts))


class Head(_Frozen):
    """One sprinkler head. Angles count counter-clockwise from the x axis."""

    id: str
    lawn: str
    at: Point
    ground: float  # [m] height
    head_class: HeadClass
    nozzle: str  # id in the catalogue
    arc_start: float  # [°]; for a strip pattern the direction it throws along
    arc: float  # [°]; 360 is a full circle; 0 for a strip pattern
    radius_share: float  # of the chart radius, 1 when not turned down
    radius: float  # [m] thrown at `pressure`
    flow: float  # [m³/s] at `pressure`
    pressure: float  # [Pa] at the nozzle: design value before hydraulics, solved value after
    hydrozone: str
    pin: str | None = None  # of the yard, that holds it where it stands


class NozzleUsed(_Frozen):
    """The law and band of a nozzle in this plan, kept so that a plan explains itself without the charts."""

    id: str
    head_class: HeadClass
    pattern: Pattern
    width: float  # [m] of a strip; 0 for a sector
    coefficient: float  # [m³/s / Pa^exponent] at reference_arc
    exponent: float  # [-]
    reference_arc: float  # [°]
    flow_follows_arc: bool
    flow_follows_radius: bool
    lowest_pressure: float  # [Pa]
    highest_pressure: float  # [Pa]
    design_pressure: float  # [Pa]
    source: str
    arcs: tuple[float, ...] = ()  # [°] that it comes with; none when it can be set between the two below
    arc_low: float = 0.0  # [°]
    arc_high: float = 360.0  # [°]
    shorten: float = 0.0  # largest share by which the radius may be turned down


class LossStep(_Frozen):
    """One step of the pressure from the entry to the worst head."""

    label: str
    pressure: float  # [Pa] taken (positive) or given (negative, downhill)
    formula: str
    inputs: dict[str, str]
    source: str


class Zone(_Frozen):
    """Heads that run together on one station."""

    id: str
    station: int
    head_class: HeadClass
    hydrozone: str
    heads: tuple[str, ...]
    place: str  # valve place
    flow: float  # [m³/s] solved, expected supply
    safe_flow: float  # [m³/s] that this zone may draw at its pressure and height
    safe_binds: str  # which limit sets safe_flow
    area: float  # [m²] of lawn nearest to its heads
    precipitation: float  # [m/s] flow over that area
    entry_pressure: float  # [Pa] at the water entry while it runs
    needed_pressure: float  # [Pa] there that would do: entry_pressure less what the flow control takes
    after_valve: float  # [Pa] where the laterals begin, expected supply
    pressure_low: float  # [Pa] worst head, expected supply
    pressure_high: float  # [Pa] best head, expected supply
    cautious_low: float  # [Pa] worst head, cautious supply
    worst_head: str
    flow_spread: float  # [0..1] between heads with the same nozzle and arc
    steps: tuple[LossStep, ...]  # from the entry to the worst head


class ValvePlace(_Frozen):
    """A place where valves (and, where the kind says so, the backflow device) stand."""

    id: str
    at: Point
    ground: float  # [m]
    backflow: BackflowKind
    backflow_size: DeviceSize | None = None  # of a device before all valves; None: as wide as the line for it
    device_height: float | None  # [m] of the critical level over the ground here; None when the device is elsewhere
    highest_outlet: float  # [m] highest outlet or pipe it must clear
    zones: tuple[str, ...]


class Node(_Frozen):
    """A point of the pipe network: the entry, a valve place, a junction or a head."""

    id: str
    at: Point
    ground: float  # [m]


class Pipe(_Frozen):
    """A run of one pipe between two nodes."""

    id: str
    role: Literal["main", "lateral"]
    zone: str | None  # None for the main
    start: str
    end: str
    path: tuple[Point, ...]
    length: float  # [m]
    material: PipeMaterial
    size: str
    bore: float  # [m]
    flow: float  # [m³/s] the most it carries
    velocity: float  # [m/s] at that flow
    loss: float  # [Pa] friction and fittings at that flow
    pin: str | None = None  # of the yard, that holds it where it lies


class Trench(_Frozen):
    """A stretch of trench in one kind of ground, with the pipes in it."""

    id: str
    path: tuple[Point, ...]
    surface: str
    length: float  # [m]
    pipes: tuple[str, ...]
    sleeve: bool
    cost: float  # [currency]


class PartLine(_Frozen):
    """One line of the parts list."""

    id: str
    part: str
    unit: Literal["piece", "m"]
    quantity: float
    owned: float  # already bought, not charged
    price: float  # [currency] of one unit
    price_source: str
    why: str  # how the quantity came about
    spare: float = 0.0  # of the quantity, bought to have


class ExistingUse(_Frozen):
    """What the plan does with one thing that is in the ground already."""

    kind: Literal["head", "valve place", "pipe"]
    id: str  # in the yard
    kept_as: tuple[str, ...]  # ids of the plan's heads, places or pipes that it serves as; none when given up
    length: float = 0.0  # [m] of a pipe that is kept
    moving_cost: float  # [currency] charged, 0 when it is kept


class SearchStep(_Frozen):
    """One step of the search for the cheapest system."""

    what: str
    total: float  # [currency] of the best system after it
    tried: int  # systems that the step looked at


class LeastCost(_Frozen):
    """A part of what no system for the same heads, on the lines that its routes were found on, can cost less than."""

    what: str
    amount: float  # [currency]
    formula: str


class Cost(_Frozen):
    """What the plan costs."""

    parts: float
    trenches: float
    moving: float = 0.0  # of what is in the ground already and not kept
    total: float
    budget: float | None


class StartZone(_Frozen):
    """A zone of the plan that another was planned on from."""

    heads: tuple[str, ...]
    place: Point  # [m] of its valve


class Start(_Frozen):
    """What a plan was planned on from: an earlier one, with its heads as they were set then."""

    backflow: BackflowKind
    heads: tuple[Head, ...]
    zones: tuple[StartZone, ...]
    moved: tuple[str, ...]  # heads that were set otherwise than in that plan


class Plan(_Frozen):
    """One plan, reproducible from the yard, the catalogue, the seed, the start and the version."""

    format: Literal["rillwright-plan"] = "rillwright-plan"
    version: Literal[1] = 1
    software: str
    seed: int
    yard: Yard
    verdict: Literal["fits", "fits with cautions", "does not fit"]
    headline: str  # one sentence
    backflow: BackflowKind | None
    supply: SupplyReport
    front: tuple[FrontPoint, ...] = ()  # from few heads to even water, cheapest first
    lawns: tuple[Lawn, ...] = ()
    heads: tuple[Head, ...] = ()
    nozzles: tuple[NozzleUsed, ...] = ()
    zones: tuple[Zone, ...] = ()
    places: tuple[ValvePlace, ...] = ()
    nodes: tuple[Node, ...] = ()
    pipes: tuple[Pipe, ...] = ()
    trenches: tuple[Trench, ...] = ()
    main: MainChoice | None = None  # None: branched, and nothing else was asked for
    regulation: Regulation | None = None
    surges: tuple[Surge, ...] = ()
    drainage: tuple[Drainage, ...] = ()
    flushing: Flushing | None = None  # None: nothing to flush
    cycling: tuple[Cycling, ...] = ()  # of a well pump, by zone
    wire: WirePlan | None = None  # None: no valves
    parts: tuple[PartLine, ...] = ()
    placed: tuple[PlacedPart, ...] = ()  # the same by place, but what is counted in bulk and by the metre
    cutting: tuple[PipeCutting, ...] = ()  # of the pipe among them
    existing: tuple[ExistingUse, ...] = ()
    cost: Cost | None = None
    certainty: Certainty | None = None  # None: nobody asked
    change: Change | None = None  # of a job under way, that this plan is what becomes of
    search: tuple[SearchStep, ...] = ()
    least: tuple[LeastCost, ...] = ()  # their sum is under the cost of any system for these heads
    start: Start | None = None  # None: planned from nothing
    findings: tuple[Finding, ...] = ()
    ways_out: tuple[WayOut, ...] = ()
    proofs: tuple[Proof, ...] = ()
