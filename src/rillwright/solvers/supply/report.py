"""The supply's chapter of the plan."""

import numpy as np

from rillwright.model.parts import Catalogue
from rillwright.model.plan import CurvePoint, SupplyReport
from rillwright.model.site import Yard
from rillwright.physics.units import show
from rillwright.solvers.supply.fit import SupplyFit
from rillwright.solvers.supply.limits import quantile_curve, safe_flow
from rillwright.solvers.supply.outlook import band
from rillwright.solvers.supply.words import cannot_say, doubts, says

__all__ = ["report_supply"]

_CURVE_POINTS = 31


def report_supply(fit: SupplyFit, *, pressure: float, yard: Yard, catalogue: Catalogue) -> SupplyReport:
    """Report a fitted supply at the pressure that a plan needs.

    Parameters: fit; pressure [Pa] at the entry; yard; catalogue. Returns: the report.
    Errors: InputError for sizes the catalogue lacks.
    """
    safe = safe_flow(fit, pressure=pressure, yard=yard, catalogue=catalogue)
    low, median, high = band(fit.flows(pressure))
    meter = yard.water_entry.meter
    expected = quantile_curve(fit, 0.5)
    cautious = quantile_curve(fit, 1 - yard.rules.supply_certainty)
    misfit = show(max(expected.misfit, cautious.misfit), "pressure", yard.units)
    return SupplyReport(
        basis=fit.basis,
        expected=expected.curve,
        cautious=cautious.curve,
        curve=_curve(fit),
        measured=fit.measured,
        open_flow=float(np.median(fit.flows(0.0))),
        reference_pressure=pressure,
        flow_low=low,
        flow_median=median,
        flow_high=high,
        limits=safe.limits,
        safe_flow=safe.flow,
        binds=safe.binds,
        meter_factor=None if meter is None else catalogue.meters[meter.size].loss.factor,
        says=(
            *says(fit, pressure=pressure, yard=yard),
            f"The expected and the cautious curve stray from the fitted quantiles by {misfit} at most.",
        ),
        doubts=doubts(fit, yard=yard),
        cannot_say=cannot_say(fit, pressure=pressure, yard=yard),
    )


def _curve(fit: SupplyFit) -> tuple[CurvePoint, ...]:
    """Band of the pressure from no flow to the median open flow."""
    points = []
    for flow in np.linspace(0.0, float(np.median(fit.flows(0.0))), _CURVE_POINTS):
        low, median, high = band(fit.pressures(float(flow)))
        points.append(CurvePoint(flow=float(flow), low=low, median=median, high=high))
    return tuple(points)
