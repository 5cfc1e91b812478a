"""Pumps: the curve that fits the points a maker prints."""

from collections.abc import Sequence

import numpy as np
from scipy.optimize import minimize_scalar

from rillwright.errors import InputError

__all__ = ["fit_falling_curve"]

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
