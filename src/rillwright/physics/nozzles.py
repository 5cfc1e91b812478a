"""Flow out of nozzles and the depth of water it makes."""

import math
from collections.abc import Sequence

__all__ = [
    "fit_flow_law",
    "orifice_flow",
    "outlet_flow",
    "precipitation_rate",
    "rectangular_rate",
    "triangular_rate",
]

_ROOT_OF_DOUBLE_DENSITY = math.sqrt(2 / 998.2)  # [m^1.5/kg^0.5] water at 20 °C


def fit_flow_law(pressure: Sequence[float], flow: Sequence[float]) -> tuple[float, float]:
    """Fit flow = coefficient · pressure^exponent to chart rows, by least squares in the logarithms.

    Parameters: pressure [Pa] and flow [m³/s], shape (n,) each, all above 0, at least two different pressures.
    Returns: coefficient [m³/s / Pa^exponent] and exponent [-], near 0.5 for a plain orifice.
    Errors: ValueError when shapes differ, a value is not above 0, or all pressures are one.
    Source: outlet law of pipe network analysis; least squares, any text.

    >>> coefficient, exponent = fit_flow_law((1e5, 4e5), (1e-4, 2e-4))
    >>> round(exponent, 6), round(coefficient * 1e5**exponent, 9)
    (0.5, 0.0001)
    """
    if len(pressure) != len(flow) or min((*pressure, *flow), default=0.0) <= 0 or len(set(pressure)) < 2:
        raise ValueError("a flow law needs as many flows as pressures, all above 0, and two different pressures")
    x = [math.log(value) for value in pressure]
    y = [math.log(value) for value in flow]
    x_mean, y_mean = sum(x) / len(x), sum(y) / len(y)
    spread = sum((value - x_mean) ** 2 for value in x)
    exponent = sum((a - x_mean) * (b - y_mean) for a, b in zip(x, y, strict=True)) / spread
    return math.exp(y_mean - exponent * x_mean), exponent


def outlet_flow(pressure: float, *, coefficient: float, exponent: float) -> float:
    """Flow [m³/s] of an outlet at a pressure [Pa], by the outlet law; none at or below no pressure.

    Parameters: pressure [Pa] gauge; coefficient [m³/s / Pa^exponent]; exponent [-].
    """
    return coefficient * pressure**exponent if pressure > 0 else 0.0


def orifice_flow(pressure: float, *, diameter: float, discharge: float) -> float:
    """Flow of cold water out of a round orifice into the air.

    Parameters: pressure [Pa] gauge, at least 0; diameter [m]; discharge coefficient [-], 0.95 for a smooth nozzle.
    Returns: flow [m³/s] = discharge · area · sqrt(2 pressure / density), density of water at 20 °C.
    Errors: ValueError when the pressure is negative.
    Source: orifice law; the trade writes it as gpm = 29.84 · Cd · d² · sqrt(psi), d in inches.

    >>> round(orifice_flow(344738.0, diameter=0.003175, discharge=0.95) * 60_000, 2)
    11.86
    """
    if pressure < 0:
        raise ValueError("an orifice lets no water out at a negative pressure")
    return discharge * math.pi / 4 * diameter**2 * math.sqrt(pressure) * _ROOT_OF_DOUBLE_DENSITY


def precipitation_rate(flow: float, *, area: float) -> float:
    """Mean depth per time [m/s] of a flow [m³/s] spread over an area [m²].

    The trade's 96.25 (gpm on ft² to in/h) is this division in US units.

    >>> round(precipitation_rate(1 / 3600, area=100.0) * 3.6e6, 6)
    10.0
    """
    return flow / area


def rectangular_rate(flow: float, *, spacing: float, row_spacing: float) -> float:
    """Precipitation rate [m/s] inside a rectangular lattice of full circles.

    Parameters: flow of one head [m³/s]; spacing in the row and between rows [m].
    """
    return precipitation_rate(flow, area=spacing * row_spacing)


def triangular_rate(flow: float, *, spacing: float) -> float:
    """Precipitation rate [m/s] inside an equilateral lattice of full circles; rows lie 0.866 spacings apart.

    Parameters: flow of one head [m³/s]; spacing [m]. With rows already measured, use `rectangular_rate`.
    """
    return precipitation_rate(flow, area=spacing**2 * math.sqrt(3) / 2)
