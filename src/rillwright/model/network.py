"""A pipe network to be solved: nodes, links, outlets and the supply that feeds it. SI."""

from dataclasses import dataclass, field

from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve

__all__ = ["Link", "Network", "Outlet", "PumpCurve"]


@dataclass(frozen=True, slots=True)
class PumpCurve:
    """What a booster pump adds: gain = shutoff - factor · flow^exponent. Water does not run back through it.

    physics.pumps.fit_falling_curve fits the three figures to points of the maker's curve.
    """

    shutoff: float  # [Pa] gain at no flow
    factor: float  # [Pa/(m³/s)^exponent]
    exponent: float  # [-]


@dataclass(frozen=True, slots=True)
class Link:
    """A pipe with its fittings, a device (then length is 0 and device is set), a regulator or a pump."""

    id: str
    start: str
    end: str
    length: float = 0.0  # [m]
    bore: float = 0.025  # [m]
    roughness: float = 1.5e-6  # [m]
    minor: float = 0.0  # [-] sum of K of the fittings, on the velocity head of this bore
    device: DeviceLoss | None = None
    pump: PumpCurve | None = None
    regulated_to: float | None = None  # [Pa] gauge, never exceeded at its end; no water runs back through it


@dataclass(frozen=True, slots=True)
class Outlet:
    """A nozzle: flow = coefficient · min(pressure, regulated_to)^exponent for positive pressure, none below."""

    coefficient: float  # [m³/s / Pa^exponent]
    exponent: float  # [-]
    regulated_to: float | None = None  # [Pa] gauge, the most its nozzle ever sees


@dataclass(frozen=True, slots=True)
class Network:
    """One source node with a supply curve; outlets and fixed demands at other nodes."""

    source: str
    supply: SupplyCurve
    elevation: dict[str, float]  # [m] of every node, source included
    links: tuple[Link, ...]
    outlets: dict[str, Outlet] = field(default_factory=dict)
    demands: dict[str, float] = field(default_factory=dict)  # [m³/s] drawn whatever the pressure
    temperature: float = 288.15  # [K]
