"""What the catalogue holds: pipes, nozzles, devices and costs, each with its source. SI throughout."""

import math
from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from rillwright.model.fittings import FittingTable, StockLength, nominal
from rillwright.model.site import AreaKind, BackflowKind, DeviceSize, HeadClass, PipeMaterial

__all__ = [
    "BackflowDevice",
    "BackflowSize",
    "Catalogue",
    "DeviceLoss",
    "MeterSize",
    "Nozzle",
    "Pattern",
    "PipeSize",
    "Price",
    "Profile",
    "TrenchCost",
    "Valve",
    "WallMaterial",
    "strip_reach",
]

Pattern = Literal["sector", "centre strip", "end strip", "side strip"]


@dataclass(frozen=True, slots=True)
class DeviceLoss:
    """Pressure lost in a device: loss = threshold + factor · flow². Fitted to the rows of a chart.

    threshold [Pa] is the loss that a spring-loaded check shows at the least flow; 0 for open devices.
    """

    factor: float  # [Pa/(m³/s)²]
    threshold: float = 0.0  # [Pa]

    def at(self, flow: float) -> float:
        """Loss [Pa] at a flow [m³/s]; 0 at no flow."""
        return self.threshold + self.factor * flow * flow if flow > 0 else 0.0


@dataclass(frozen=True, slots=True)
class PipeSize:
    """One trade size of one pipe material."""

    material: PipeMaterial
    trade_size: str  # e.g. '1 in'
    inside_diameter: float  # [m] true bore
    outside_diameter: float  # [m]
    pressure_rating: float  # [Pa] at 23 °C
    roughness: float  # [m]
    source: str


@dataclass(frozen=True, slots=True)
class WallMaterial:
    """What a pipe material bears besides its rating."""

    elastic_modulus: float  # [Pa] short-term
    surge_share: float  # of the rating, that pressure with surge may reach
    expansion: float  # [1/K] of length
    poisson: float  # [-]
    creep: float  # [-] share by which its stretch grows for each tenfold of time under load
    warm: tuple[tuple[float, float], ...]  # water temperature [K] and the share of the rating left, rising
    source: str
    closed_source: str  # of expansion, Poisson's ratio and creep

    def share_at(self, temperature: float) -> float:
        """Share of its rating that a pipe keeps with water at a temperature [K]: straight between the rows."""
        (cool, share), *warmer = self.warm
        for warm, left in warmer:
            if temperature <= warm:
                return share + (left - share) * max(0.0, temperature - cool) / (warm - cool)
            cool, share = warm, left
        return share


@dataclass(frozen=True, slots=True)
class Profile:
    """Radial profile of application of a head class: relative rate against distance as a share of the radius.

    At other pressures than the design pressure the profile is another: too little makes a ring, too much mist near the
    head.
    """

    id: str
    distance: tuple[float, ...]  # share of the radius, 0 to 1, rising
    rate: tuple[float, ...]  # relative rate at the design pressure, any scale
    source: str
    launch: float = 25.0  # [°] at which the water leaves, over level
    others: tuple[tuple[float, tuple[float, ...]], ...] = ()  # shares of the design pressure, and the rate there

    def at(self, share: float) -> tuple[float, ...]:
        """Rate at a share of the design pressure: between the stated profiles, each as a part of the same water.

        Held at the outermost profiles; shares count in steps of 0.02. Judgement, no source.
        """
        return _blend(self, round(50 * share) / 50)


@lru_cache(maxsize=512)
def _blend(profile: Profile, share: float) -> tuple[float, ...]:
    stated = sorted((*profile.others, (1.0, profile.rate)))
    if share == 1.0 or len(stated) == 1:
        return profile.rate
    shares = [at for at, _ in stated]
    at = min(max(share, shares[0]), shares[-1])
    upper = max(1, bisect_left(shares, at))
    part = (at - shares[upper - 1]) / (shares[upper] - shares[upper - 1])
    low, high = (_scaled(profile.distance, stated[i][1]) for i in (upper - 1, upper))
    return tuple((1 - part) * a + part * b for a, b in zip(low, high, strict=True))


def _scaled(distance: tuple[float, ...], rate: tuple[float, ...]) -> list[float]:
    """Scale a profile so that a full circle of radius 1 carries one unit of water; straight between its points."""
    water = 0.0
    for (a, p), (b, q) in pairwise(zip(distance, rate, strict=True)):
        water += math.tau * (b - a) * (a * (2 * p + q) + b * (p + 2 * q)) / 6
    return [value / water for value in rate]


@dataclass(frozen=True, slots=True)
class Nozzle:
    """A nozzle in its head: what it passes and how far it throws by pressure.

    Sector patterns throw a circle sector of any arc within arc_low..arc_high, or of one of fixed_arcs.
    Strip patterns throw a rectangle `radius` long (along the strip) and `width` wide, see strip_reach.
    When flow_follows_arc, the chart's flow holds at reference_arc and the flow at another arc is in proportion
    (fixed sprays and multi-stream rotaries: matched by design); else the flow is the same at every arc (rotors).
    When flow_follows_radius, turning the radius down by its screw throttles the flow too.
    """

    id: str
    head_class: HeadClass
    pattern: Pattern
    reference_arc: float  # [°]
    flow_follows_arc: bool
    flow_follows_radius: bool
    fixed_arcs: tuple[float, ...]  # [°]; empty when the arc can be set anywhere in its range
    arc_low: float  # [°]
    arc_high: float  # [°]
    pressure: tuple[float, ...]  # [Pa] chart rows, rising
    flow: tuple[float, ...]  # [m³/s] at reference_arc
    radius: tuple[float, ...]  # [m]; for a strip its length
    width: float  # [m] of a strip; 0 for a sector
    design_pressure: float  # [Pa] the class works best at
    shorten: float  # largest share by which the radius may be turned down
    profile: str
    source: str

    @property
    def lowest_pressure(self) -> float:
        """Lower end of the chart band [Pa]."""
        return self.pressure[0]

    @property
    def highest_pressure(self) -> float:
        """Upper end of the chart band [Pa]."""
        return self.pressure[-1]

    def can_throw(self, arc: float) -> bool:
        """Whether it can be set to an arc [°]; 0 is the arc of strip patterns."""
        if self.pattern != "sector":
            return arc == 0
        return arc in self.fixed_arcs if self.fixed_arcs else self.arc_low <= arc <= self.arc_high

    @property
    def arcs_told(self) -> str:
        """The arcs it can be set to, in words."""
        if self.pattern != "sector":
            return "no arc but 0"
        return ", ".join(f"{arc:g}°" for arc in self.fixed_arcs) or f"{self.arc_low:g}° to {self.arc_high:g}°"


def strip_reach(pattern: Pattern, *, length: float, width: float) -> tuple[float, float, float, float]:
    """How far a strip pattern reaches from its head [m]: behind, ahead, to the right, to the left.

    A centre strip reaches half its length each way, an end strip its length ahead, a side strip half its length each
    way and its width to the left. Parameters: pattern, no sector; length and width [m].

    >>> strip_reach("side strip", length=9.0, width=1.2)
    (4.5, 4.5, 0.0, 1.2)
    """
    behind, ahead = (0.0, length) if pattern == "end strip" else (length / 2, length / 2)
    right, left = (0.0, width) if pattern == "side strip" else (width / 2, width / 2)
    return behind, ahead, right, left


@dataclass(frozen=True, slots=True)
class BackflowSize:
    """One trade size of a backflow kind."""

    kind: BackflowKind
    trade_size: DeviceSize
    loss: DeviceLoss
    source: str

    @property
    def part(self) -> str:
        """Name in the parts list; the 1 in size goes by its kind alone."""
        return self.kind if self.trade_size == "1 in" else f"{self.kind} {self.trade_size}"


@dataclass(frozen=True, slots=True)
class BackflowDevice:
    """A backflow kind with the rule for its place, and its sizes."""

    kind: BackflowKind
    scope: Literal["zone", "system"]  # one for each zone after its valve, or one before all valves
    above_outlets: float | None  # [m] least height over the highest outlet downstream; None when free
    above_ground: float  # [m] least height over the ground; negative when it may be buried
    sizes: tuple[BackflowSize, ...]  # rising
    source: str

    def for_line(self, trade_size: str) -> BackflowSize:
        """The size for a line: the widest that is no wider, else the narrowest. Common practice, no source."""
        return self.up_to(trade_size)[-1]

    def up_to(self, trade_size: str) -> tuple[BackflowSize, ...]:
        """The sizes no wider than a line, rising; the narrowest where all are wider."""
        fits = tuple(size for size in self.sizes if nominal(size.trade_size) <= nominal(trade_size))
        return fits or self.sizes[:1]


@dataclass(frozen=True, slots=True)
class Valve:
    """A zone valve."""

    kind: Literal["in-line valve", "valve with vacuum breaker"]
    trade_size: str
    loss: DeviceLoss
    closing_time: float  # [s] over which most of the flow is cut
    source: str


@dataclass(frozen=True, slots=True)
class MeterSize:
    """A water meter."""

    trade_size: str
    safe_maximum: float  # [m³/s]
    loss_at_maximum: float  # [Pa]
    source: str

    @property
    def loss(self) -> DeviceLoss:
        """Loss curve through the safe maximum, in proportion to flow²."""
        return DeviceLoss(factor=self.loss_at_maximum / self.safe_maximum**2)


@dataclass(frozen=True, slots=True)
class TrenchCost:
    """What a metre of trench costs in a kind of ground; None where no trench may go."""

    surface: AreaKind | Literal["ground"]
    per_metre: float | None  # [currency/m]
    per_crossing: float  # [currency] once for each crossing (sleeve, boring)
    source: str


@dataclass(frozen=True, slots=True)
class Price:
    """Price of a part; `part` is the key that the parts list uses."""

    part: str
    each: Literal["piece", "m"]
    price: float  # [currency]
    source: str


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Everything that can be bought or charted, from packaged tables and the user's own CSV files."""

    pipes: tuple[PipeSize, ...]
    materials: Mapping[PipeMaterial, WallMaterial]
    nozzles: Mapping[str, Nozzle]
    profiles: Mapping[str, Profile]
    backflow: Mapping[BackflowKind, BackflowDevice]
    valves: tuple[Valve, ...]
    meters: Mapping[str, MeterSize]
    trenches: Mapping[str, TrenchCost]
    prices: Mapping[str, Price]
    intake: Mapping[tuple[str, str], float]  # (soil texture, slope class) -> largest precipitation rate [m/s]
    fittings: FittingTable
    stock: tuple[StockLength, ...]
