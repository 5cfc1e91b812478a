"""What the supply may be asked for: the safe flow, its three limits, and single curves for the network solver."""

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from rillwright.model.parts import Catalogue
from rillwright.model.plan import SupplyCurve, SupplyLimit
from rillwright.model.site import BoosterPump, Yard
from rillwright.physics.pipes import flow_at_velocity
from rillwright.physics.units import PSI, show
from rillwright.solvers.supply.change import unboosted
from rillwright.solvers.supply.fit import SupplyFit
from rillwright.solvers.supply.prior import service_bore

__all__ = [
    "LOWEST_SUCTION",
    "QuantileCurve",
    "SafeFlow",
    "cautious_curve",
    "expected_curve",
    "quantile_curve",
    "safe_flow",
]

Binding = Literal["curve", "service velocity", "meter", "suction"]

LOWEST_SUCTION = 20 * PSI  # [Pa] that a booster may pull the service down to: common code rule, from memory

_CURVE_POINTS = 41


class SafeFlow(NamedTuple):
    """The most that may be drawn at one pressure."""

    flow: float  # [m³/s] least limit less what is held back for the house
    limits: tuple[SupplyLimit, ...]
    binds: Binding


class QuantileCurve(NamedTuple):
    """A single curve that stands for a quantile of all."""

    curve: SupplyCurve
    misfit: float  # [Pa] largest distance from the quantile, from no flow to no pressure


def safe_flow(fit: SupplyFit, *, pressure: float, yard: Yard, catalogue: Catalogue) -> SafeFlow:
    """Flow that may safely be drawn while the entry must keep a pressure.

    Parameters: fit; pressure [Pa] at the entry; yard; catalogue. Returns: flow [m³/s], limits and which one binds.
    Errors: InputError for sizes the catalogue lacks.
    """
    limits = [_curve_limit(fit, pressure, yard), _velocity_limit(yard, catalogue)]
    if yard.water_entry.meter is not None:
        limits.append(_meter_limit(yard, catalogue))
    if yard.water_entry.booster is not None:
        limits.append(_suction_limit(fit, yard.water_entry.booster, yard))
    least = min(limits, key=lambda limit: limit.flow)
    return SafeFlow(max(0.0, least.flow - yard.rules.reserve), tuple(limits), least.name)


def _curve_limit(fit: SupplyFit, pressure: float, yard: Yard) -> SupplyLimit:
    certainty = yard.rules.supply_certainty
    return SupplyLimit(
        name="curve",
        flow=float(np.quantile(fit.flows(pressure), 1 - certainty)),
        formula="flow that keeps the pressure: ((static - pressure) / factor)^(1/exponent), cautious quantile",
        inputs={
            "pressure at the entry": show(pressure, "pressure", yard.units),
            "certainty": show(certainty, "share", yard.units),
            "basis": fit.basis,
        },
        source="fit to the measurements, docs/theory/supply.md",
    )


def _velocity_limit(yard: Yard, catalogue: Catalogue) -> SupplyLimit:
    bore, speed = service_bore(yard, catalogue=catalogue), yard.rules.highest_service_velocity
    return SupplyLimit(
        name="service velocity",
        flow=flow_at_velocity(speed, inside_diameter=bore),
        formula="velocity · pi/4 · bore²",
        inputs={
            "velocity": show(speed, "velocity", yard.units),
            "bore": show(bore, "bore", yard.units),
        },
        source="common practice, no source",
    )


def _meter_limit(yard: Yard, catalogue: Catalogue) -> SupplyLimit:
    assert yard.water_entry.meter is not None
    meter = catalogue.meters[yard.water_entry.meter.size]
    return SupplyLimit(
        name="meter",
        flow=yard.rules.meter_share * meter.safe_maximum,
        formula="share · safe maximum flow of the meter",
        inputs={
            "share": show(yard.rules.meter_share, "share", yard.units),
            "safe maximum": show(meter.safe_maximum, "flow", yard.units),
            "meter": meter.trade_size,
        },
        source=meter.source,
    )


def _suction_limit(fit: SupplyFit, pump: BoosterPump, yard: Yard) -> SupplyLimit:
    """What the service gives before the pump while it keeps the least pressure there; fit is the supply behind it."""
    certainty, supplies = yard.rules.supply_certainty, unboosted(fit, pump=pump).supplies
    return SupplyLimit(
        name="suction",
        flow=float(np.quantile(supplies.flow(LOWEST_SUCTION), 1 - certainty)),
        formula="flow at which the service, without the pump, still keeps the least pressure; cautious quantile",
        inputs={
            "least pressure before the pump": show(LOWEST_SUCTION, "pressure", yard.units),
            "certainty": show(certainty, "share", yard.units),
        },
        source="common code rule, 20 psi, from memory",
    )


def cautious_curve(fit: SupplyFit, certainty: float) -> SupplyCurve:
    """Curve that the supply beats, at each flow, with a chance of `certainty`."""
    return quantile_curve(fit, 1 - certainty).curve


def expected_curve(fit: SupplyFit) -> SupplyCurve:
    """Curve through the medians."""
    return quantile_curve(fit, 0.5).curve


def quantile_curve(fit: SupplyFit, quantile: float) -> QuantileCurve:
    """Single curve nearest to a pointwise quantile of the pressure, from no flow to where no pressure is left.

    Parameters: fit; quantile [0..1]. Returns: the curve and its largest misfit [Pa].
    """
    static = float(np.quantile(fit.static, quantile))
    end = float(np.quantile(fit.flows(0.0), quantile))
    flows = end * np.linspace(0, 1, _CURVE_POINTS)
    wanted = np.asarray([np.quantile(fit.pressures(flow), quantile) for flow in flows]) / static

    def shape(p: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(p[0] - p[1] * (flows / end) ** p[2])

    usual = fit.prior.exponent
    bounds = ([0.5, 0.1, usual - 0.4], [1.5, 2.0, usual + 0.7])
    found = optimize.least_squares(lambda p: shape(p) - wanted, [1.0, 1.0, usual], bounds=bounds, x_scale=[1, 1, 1])
    top, drop, exponent = (float(v) for v in found.x)
    misfit = float(np.max(np.abs(shape(found.x) - wanted))) * static
    return QuantileCurve(
        SupplyCurve(static=top * static, factor=drop * static / end**exponent, exponent=exponent), misfit
    )
