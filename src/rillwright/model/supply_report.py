"""What the measured supply can give, as a plan states it."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

__all__ = ["CurvePoint", "MeasuredPoint", "SupplyCurve", "SupplyLimit", "SupplyReport"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class SupplyCurve(_Frozen):
    """Pressure at the water entry against flow: pressure = static - factor · flow^exponent, at the most the cap."""

    static: float  # [Pa] gauge, at the entry's height
    factor: float  # [Pa/(m³/s)^exponent]
    exponent: float  # [-]
    cap: float | None = None  # [Pa] that a pressure reducing valve at the entry lets through while water runs

    def pressure(self, flow: float) -> float:
        """Pressure at the entry [Pa] at a flow [m³/s]; may be negative, which means the flow cannot be had."""
        street = float(self.static - self.factor * max(flow, 0.0) ** self.exponent)
        return street if self.cap is None else min(street, self.cap)

    def flow(self, pressure: float) -> float:
        """Flow [m³/s] at which the entry still has a pressure [Pa]; 0 when the static pressure is less."""
        if pressure >= self.static or (self.cap is not None and pressure > self.cap):
            return 0.0
        return float(((self.static - pressure) / self.factor) ** (1 / self.exponent))


class CurvePoint(_Frozen):
    """The supply's pressure at one flow, with its 90 % band."""

    flow: float  # [m³/s]
    low: float  # [Pa] 5 % quantile
    median: float  # [Pa]
    high: float  # [Pa] 95 % quantile


class MeasuredPoint(_Frozen):
    """One measurement reduced to a flow and a pressure at the entry's height, with standard errors."""

    label: str  # e.g. 'bucket fill 1'
    flow: float  # [m³/s]
    flow_error: float  # [m³/s]
    pressure: float  # [Pa]
    pressure_error: float  # [Pa]
    formula: str  # how flow and pressure came about
    inputs: dict[str, str]


class SupplyLimit(_Frozen):
    """One limit on the flow."""

    name: Literal["curve", "service velocity", "meter", "suction"]
    flow: float  # [m³/s]
    formula: str
    inputs: dict[str, str]
    source: str


class SupplyReport(_Frozen):
    """The fitted supply and what it may be asked for."""

    basis: Literal[
        "static and flow measured",
        "flow measured, static assumed",
        "static measured only",
        "assumed",
        "pump's curve",
        "pump's curve and flow measured",
    ]
    expected: SupplyCurve  # median
    cautious: SupplyCurve  # the supply does better than this with the chance stated in rules.supply_certainty
    curve: tuple[CurvePoint, ...]
    measured: tuple[MeasuredPoint, ...]
    open_flow: float  # [m³/s] median flow of the open pipe, at no pressure
    reference_pressure: float  # [Pa] at the entry, that the heads of this plan need
    flow_low: float  # [m³/s] 5 % quantile of the flow at reference_pressure
    flow_median: float  # [m³/s]
    flow_high: float  # [m³/s] 95 % quantile
    limits: tuple[SupplyLimit, ...]
    safe_flow: float  # [m³/s] least of the limits, less what is held back for the house
    binds: Literal["curve", "service velocity", "meter", "suction"]
    meter_factor: float | None = None  # [Pa/(m³/s)²] of the water meter's loss; None without a meter
    says: tuple[str, ...] = ()  # what the measurements can say, in plain sentences
    doubts: tuple[str, ...] = ()  # of these, what calls for a second look before anybody buys
    cannot_say: tuple[str, ...] = ()  # what they cannot
