"""Pumps: the curve that fits the points a maker prints."""

from collections.abc import Sequence

import numpy as np
from scipy.optimize import minimize_scalar

from rillwright.errors import InputError
from rillwright.physics.closed_pipe import ATMOSPHERE

__all__ = ["cycle_times", "fit_falling_curve", "tank_drawdown"]

_EXPONENTS = (0.5, 6.0)  # beyond any pump's


def fit_falling_curve(flows: Sequence[float], pressures: Sequence[float]) -> tuple[float, float, float]:
    """Fit pressure = shutoff - factor · flow^exponent to points of a pump's curve, by least squares of pressure.

    Parameters: flows [m³/s] and pressures [Pa] of two points or more; with two, the exponent is 2.
    Returns: shutoff [Pa], factor [Pa/(m³/s)^exponent], exponent [-]. A booster's gain and a well pump's pressure at
    the surface both take this form; it holds between the points and strays beyond the last.
    Errors: InputError for fewer than two points, flows below 0 or alike, or pressures that do not fall with flow.
    Source: the three-constant form of a centrifugal pump's curve, common practice in network solvers (from memory).

    >>> shutoff, factor, exponent = fit_falling_curve([0.0, 1e-3, 2e-3], [3e5, 2.8e5, 2.2e5])
    >>> round(shutoff), round(exponent, 6)
    (300000, 2.0)
    """
    flow, pressure = np.array(flows, dtype=float), np.array(pressures, dtype=float)
    if len(flow) != len(pressure) or len(flow) < 2:
        raise InputError(
            f"a pump's curve needs two points or more, not {len(flow)} flows and {len(pressure)} pressures"
        )
    order = np.argsort(flow)
    flow, pressure = flow[order], pressure[order]
    if not (flow[0] >= 0 and (np.diff(flow) > 0).all() and (np.diff(pressure) < 0).all()):
        raise InputError(
            "a pump's pressure must fall from each point to the next larger flow, and no flow may be below 0: "
            f"flows {flow.tolist()} m³/s, pressures {pressure.tolist()} Pa"
        )
    share = flow / flow[-1]

    def fitted(exponent: float) -> tuple[np.ndarray, float]:
        columns = np.stack([np.ones_like(share), -(share**exponent)], axis=1)
        figures = np.linalg.lstsq(columns, pressure, rcond=None)[0]
        return figures, float(((columns @ figures - pressure) ** 2).sum())

    exponent = 2.0
    if len(flow) > 2:
        found = minimize_scalar(lambda e: fitted(e)[1], bounds=_EXPONENTS, method="bounded", options={"xatol": 1e-10})
        exponent = float(found.x)
    shutoff, fall = fitted(exponent)[0]
    return float(shutoff), float(fall) / float(flow[-1]) ** exponent, exponent


def tank_drawdown(volume: float, *, precharge: float, cut_in: float, cut_out: float) -> float:
    """Water that a pressure tank gives between the pump's cut-out and its cut-in.

    Parameters: volume [m³] of the whole tank; precharge, cut_in, cut_out [Pa] gauge. Returns: volume [m³]: that of the
    air at cut-in less that at cut-out, by Boyle's law on absolute pressures, the air never over the tank.
    Errors: InputError unless 0 < cut_in < cut_out. Source: Boyle's law; air at rest keeps the water's temperature.

    >>> from rillwright.physics.units import GALLON, PSI
    >>> round(tank_drawdown(20 * GALLON, precharge=38 * PSI, cut_in=40 * PSI, cut_out=60 * PSI) / GALLON, 2)
    5.16
    """
    if not 0 < cut_in < cut_out:
        raise InputError(f"the pump must start at a lower pressure than it stops at: {cut_in:g} and {cut_out:g} Pa")
    air = [min(1.0, (precharge + ATMOSPHERE) / (pressure + ATMOSPHERE)) for pressure in (cut_in, cut_out)]
    return volume * (air[0] - air[1])


def cycle_times(flow: float, *, pump_flow: float, drawdown: float) -> tuple[float, float]:
    """Seconds that a pump runs and rests in one cycle while a flow is drawn from its tank.

    Parameters: flow [m³/s], above 0 and under pump_flow [m³/s], which the pump gives while it runs; drawdown [m³].
    Returns: running drawdown / (pump_flow - flow), resting drawdown / flow [s]. Their sum is least, 4 drawdown /
    pump_flow, at half the pump's flow.
    Errors: InputError for a flow out of range. Source: balance of the tank's volume.

    >>> cycle_times(0.0005, pump_flow=0.001, drawdown=0.02)
    (40.0, 40.0)
    """
    if not 0 < flow < pump_flow:
        raise InputError(f"a pump of {pump_flow:g} m³/s cycles only on a flow between 0 and that, not {flow:g} m³/s")
    return drawdown / (pump_flow - flow), drawdown / flow
