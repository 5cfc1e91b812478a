"""The house supply: what a bucket fill, an open outlet and a pressure left under flow mean.

The mistake these functions exist to prevent: an open pipe gives its greatest flow at *no* pressure. A sprinkler
needs pressure, and at that pressure the same pipe gives much less.
"""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.physics.losses import darcy_pressure_loss, fitting_pressure_loss
from rillwright.physics.water import STANDARD_TEMPERATURE, density, viscosity

__all__ = [
    "bucket_flow",
    "bucket_flow_error",
    "flow_kept",
    "open_outlet_flow",
    "open_outlet_loss",
    "residual_pressure",
    "service_line_loss",
]

FloatArray = NDArray[np.float64]
Number = TypeVar("Number", float, FloatArray)

_NEWTON_STEPS = 40  # far more than the convex start needs; the loop stops at convergence


def bucket_flow(volume: float, *, seconds: float, start_delay: float = 0.0) -> float:
    """Flow into a bucket that was `seconds` on the clock filling, the first `start_delay` of them dry.

    Parameters: volume [m³] to the mark; seconds [s] on the clock; start_delay [s] before water reached the bucket.
    Returns: flow [m³/s].
    Errors: InputError when no filling time is left.
    Source: flow is volume over time.

    >>> from rillwright.physics.units import GALLON, GPM
    >>> round(bucket_flow(5 * GALLON, seconds=9.5) / GPM, 2)
    31.58
    >>> round(bucket_flow(5 * GALLON, seconds=13.7, start_delay=4.0) / GPM, 2)
    30.93
    """
    filling = seconds - start_delay
    if filling <= 0:
        raise InputError(
            f"a bucket fill of {seconds:g} s with {start_delay:g} s lost at the start leaves no time to fill: "
            "write the clock time from opening the tap in 'seconds' and the part of it before water came in "
            "'start_delay'"
        )
    return volume / filling


def bucket_flow_error(
    volume: float,
    *,
    seconds: float,
    start_delay: float = 0.0,
    repeats: int = 1,
    volume_error: float,
    time_error: float,
    start_delay_error: float = 0.0,
) -> float:
    """Standard error of the mean flow of repeated bucket fills, to first order.

    The bucket's mark and the start delay are wrong in the same way at every repeat, so repeats only narrow the
    stopwatch's part: (error of flow / flow)² = volume_error² + (time_error²/repeats + start_delay_error²) / filling².

    Parameters: volume [m³]; seconds [s] mean on the clock; start_delay [s]; repeats [-]; volume_error [share];
    time_error [s] of one reading; start_delay_error [s]. Returns: standard error of the flow [m³/s].
    Errors: InputError as for `bucket_flow`. Source: propagation of uncertainty, JCGM 100:2008 section 5.

    >>> from rillwright.physics.units import GALLON, GPM
    >>> round(bucket_flow_error(5 * GALLON, seconds=9.5, repeats=3, volume_error=0.03, time_error=0.3) / GPM, 2)
    1.11
    """
    flow = bucket_flow(volume, seconds=seconds, start_delay=start_delay)
    time_variance = (time_error**2 / repeats + start_delay_error**2) / (seconds - start_delay) ** 2
    return float(flow * np.sqrt(volume_error**2 + time_variance))


def open_outlet_loss(flow: Number, *, bore: float, loss_factor: float) -> Number:
    """Pressure that an outlet running into the open air uses up: loss_factor velocity heads of its bore.

    The jet itself carries off one velocity head, so loss_factor is at least 1; a tap that throttles adds its own.
    Parameters: flow [m³/s], float or array; bore [m] of the outlet; loss_factor [-]. Returns: pressure [Pa].
    Errors: InputError when loss_factor is below 1. Source: energy equation of a free jet, any fluid mechanics text.

    >>> round(open_outlet_loss(0.002, bore=0.02664, loss_factor=1.0))  # 31.7 gpm out of an open 1 in pipe
    6432
    """
    if loss_factor < 1:
        raise InputError(f"an open outlet takes at least one velocity head: loss_factor is {loss_factor:g}, not 1")
    return fitting_pressure_loss(flow, inside_diameter=bore, coefficient=loss_factor)


def open_outlet_flow(
    head: FloatArray, *, loss: FloatArray, reference_flow: float, exponent: FloatArray, outlet_factor: FloatArray
) -> FloatArray:
    """Flow at which pipe and open outlet together use up all the pressure there is, for many supplies at once.

    Solves head = loss · (flow / reference_flow)^exponent + outlet_factor · flow² by Newton from above; the right
    side is convex and rising, so the steps fall on the root without overshoot.

    Parameters: head [Pa], static pressure less the climb to the outlet; loss [Pa] in the pipe at reference_flow
    [m³/s]; exponent [-], more than 1; outlet_factor [Pa/(m³/s)²]; arrays of one shape.
    Returns: flow [m³/s], 0 where head is not positive. Source: energy equation.

    >>> one = np.ones(1)
    >>> open_outlet_flow(4e5 * one, loss=1e5 * one, reference_flow=0.001, exponent=2 * one, outlet_factor=0 * one)
    array([0.002])
    """
    pressure = np.maximum(head, 1e-9)
    flow: FloatArray = reference_flow * (pressure / loss) ** (1 / exponent)
    for _ in range(_NEWTON_STEPS):
        pipe = loss * (flow / reference_flow) ** exponent
        outlet = outlet_factor * flow**2
        step = (pipe + outlet - pressure) / ((exponent * pipe + 2 * outlet) / flow)
        flow = flow - step
        if np.all(np.abs(step) <= 1e-12 * flow):
            break
    return np.where(head > 0, flow, 0.0)


def residual_pressure(flow: Number, *, static: float, open_flow: float, exponent: float = 1.852) -> Number:
    """Pressure left at the entry while a flow runs, from the static pressure and the open-pipe flow.

    pressure = static · (1 - (flow / open_flow)^exponent), outlet at the entry's height and its loss inside.
    Parameters: flow [m³/s], float or array; static [Pa]; open_flow [m³/s] with the outlet open; exponent [-].
    Returns: pressure [Pa], negative beyond open_flow. Valid where pipe friction rules (exponent 1.75 to 2).
    Source: the flow-test relation of fire mains (Hazen-Williams exponent 1.852), applied to a house supply.

    >>> from rillwright.physics.units import GPM, PSI
    >>> round(residual_pressure(27 * GPM, static=60 * PSI, open_flow=31.58 * GPM) / PSI, 1)
    15.1
    """
    share: Number = (flow / open_flow) ** exponent
    return static * (1 - share)


def flow_kept(pressure: Number, *, static: float, open_flow: float, exponent: float = 1.852) -> Number:
    """Flow at which a pressure is still left: the inverse of `residual_pressure`.

    Parameters: pressure [Pa], float or array, at most static; static [Pa]; open_flow [m³/s]; exponent [-].
    Returns: flow [m³/s]. Errors: InputError when a pressure is above static. Source: as `residual_pressure`.

    >>> from rillwright.physics.units import GPM, PSI
    >>> round(flow_kept(45 * PSI, static=60 * PSI, open_flow=31.58 * GPM) / GPM, 1)
    14.9
    """
    if np.any(np.asarray(pressure) > static):
        raise InputError(f"no flow keeps more than the static pressure of {static:.0f} Pa: ask for less pressure")
    share: Number = (1 - pressure / static) ** (1 / exponent)
    return open_flow * share


def service_line_loss(
    flow: float,
    *,
    length: float,
    bore: float,
    roughness: float,
    fittings: float = 0.0,
    meter_factor: float = 0.0,
    temperature: float = STANDARD_TEMPERATURE,
) -> float:
    """Pressure lost between the street main and the water entry.

    Parameters: flow [m³/s]; length [m] and bore [m] (true inside diameter) of the service pipe; roughness [m];
    fittings [-], velocity heads lost in taps, stops and bends; meter_factor [Pa/(m³/s)²]; temperature [K] of the
    water.
    Returns: pressure [Pa]. Range: as `darcy_pressure_loss`, to which pipe friction is left.
    Source: Darcy-Weisbach with Colebrook friction; meter in proportion to flow².

    >>> round(service_line_loss(0.001, length=20.0, bore=0.0262, roughness=1.5e-6, fittings=10.0), -3)
    46000.0
    """
    rho = density(temperature)
    friction = darcy_pressure_loss(
        flow, inside_diameter=bore, length=length, roughness=roughness, density=rho, viscosity=viscosity(temperature)
    )
    taps = fitting_pressure_loss(flow, inside_diameter=bore, coefficient=fittings, density=rho)
    return friction + taps + meter_factor * flow**2
