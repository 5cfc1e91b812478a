"""Pressure lost in pipes and fittings. Formulas take floats or arrays alike; a backward flow gives a negative loss."""

import math
from typing import Literal, TypeVar, overload

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.physics import water
from rillwright.physics.pipes import area
from rillwright.physics.units import GRAVITY, INCH

__all__ = [
    "DENSITY",
    "FITTING_LENGTHS",
    "VISCOSITY",
    "FittingKind",
    "darcy_pressure_loss",
    "exact_multiple_outlet_factor",
    "fitting_coefficient",
    "fitting_pressure_loss",
    "friction_factor",
    "friction_factor_and_slope",
    "half_spacing_outlet_factor",
    "hazen_williams_head_loss",
    "hazen_williams_pressure_loss",
    "multiple_outlet_factor",
    "turbulent_friction_factor",
]

Floats = NDArray[np.float64]
Value = TypeVar("Value", float, Floats)

LAMINAR_END = 2000.0  # Reynolds number up to which 64/Re holds
TURBULENT_START = 4000.0  # Reynolds number from which Colebrook-White holds

DENSITY = water.density()  # [kg/m³] at 15 °C
VISCOSITY = water.viscosity()  # [m²/s] kinematic, at 15 °C
_LOG10_SCALE = 2 / math.log(10)

FittingKind = Literal[
    "elbow 90",
    "elbow 45",
    "tee run",
    "tee branch",
    "gate valve",
    "ball valve",
    "globe valve",
    "angle valve",
    "swing check",
]
# Equivalent lengths in bores, K = n · fT: Crane Technical Paper 410, appendix A, 2009 and later (from memory).
FITTING_LENGTHS: dict[FittingKind, float] = {
    "elbow 90": 30,
    "elbow 45": 16,
    "tee run": 20,
    "tee branch": 60,
    "gate valve": 8,
    "ball valve": 3,
    "globe valve": 340,
    "angle valve": 150,
    "swing check": 100,
}
_STEEL_ROUGHNESS = 0.0018 * INCH  # [m] clean commercial steel, on which Crane's fT rests


def _colebrook(reynolds: Floats, rough: Floats) -> tuple[Floats, Floats]:
    """Solve Colebrook-White for f and df/dRe by Newton in 1/sqrt(f), from Haaland's explicit guess."""
    inverse_root = -1.8 * np.log10((rough / 3.7) ** 1.11 + 6.9 / reynolds)
    for _ in range(4):
        inner = rough / 3.7 + 2.51 * inverse_root / reynolds
        slope = 1 + _LOG10_SCALE * 2.51 / reynolds / inner
        inverse_root = inverse_root - (inverse_root + 2 * np.log10(inner)) / slope
    inner = rough / 3.7 + 2.51 * inverse_root / reynolds
    pull = _LOG10_SCALE * 2.51 / reynolds / inner
    factor = inverse_root**-2
    return factor, -2 * factor / reynolds * pull / (1 + pull)


def _bridge(reynolds: Floats, rough: Floats) -> tuple[Floats, Floats]:
    """Join 64/Re to Colebrook-White by the cubic that meets both in value and slope."""
    width = TURBULENT_START - LAMINAR_END
    low, low_slope = 64 / LAMINAR_END, -64 / LAMINAR_END**2 * width
    high, high_slope = _colebrook(np.full_like(rough, TURBULENT_START), rough)
    high_slope = high_slope * width
    t = (reynolds - LAMINAR_END) / width
    second = 3 * (high - low) - 2 * low_slope - high_slope
    third = 2 * (low - high) + low_slope + high_slope
    factor = low + t * (low_slope + t * (second + t * third))
    return factor, (low_slope + t * (2 * second + 3 * t * third)) / width


def friction_factor_and_slope(reynolds: Floats, relative_roughness: Floats) -> tuple[Floats, Floats]:
    """Darcy friction factor and its slope by Reynolds number, for solvers.

    Parameters: reynolds (n,), positive; relative_roughness (n,). Returns: factor (n,) [-], slope (n,) [-].
    Range and sources as for friction_factor.
    """
    factor, slope = 64 / reynolds, -64 / reynolds**2
    for law, where in (
        (_bridge, (reynolds > LAMINAR_END) & (reynolds < TURBULENT_START)),
        (_colebrook, reynolds >= TURBULENT_START),
    ):
        if where.any():
            factor[where], slope[where] = law(reynolds[where], relative_roughness[where])
    return factor, slope


@overload
def friction_factor(reynolds: float, relative_roughness: float) -> float: ...
@overload
def friction_factor(reynolds: Floats, relative_roughness: float | Floats) -> Floats: ...
def friction_factor(reynolds: float | Floats, relative_roughness: float | Floats) -> float | Floats:
    """Darcy friction factor of a full round pipe.

    Parameters: reynolds [-], positive; relative_roughness [-], roughness over inside diameter. Shapes broadcast.
    Returns: factor [-]. Below Reynolds 2000: 64/Re. From 4000: Colebrook-White, solved to machine precision; the
    equation itself stands within some 5 to 10 % of measurements. Between: no formula is sure, as the flow switches
    between the two states; a cubic joins them smoothly, so that loss always rises with flow.
    Errors: InputError for a Reynolds number that is not positive or a roughness outside 0 to 0.1.
    Source: Hagen-Poiseuille; Colebrook, J. Inst. Civ. Eng. 11 (1939) 133.

    >>> round(friction_factor(1e5, 0.001), 5)
    0.02217
    """
    re, rough = np.broadcast_arrays(np.asarray(reynolds, float), np.asarray(relative_roughness, float))
    if not (np.all(re > 0) and np.all(np.isfinite(re))):
        raise InputError(f"Reynolds numbers must be positive and finite, not {reynolds}")
    if not (np.all(rough >= 0) and np.all(rough <= 0.1)):
        raise InputError(f"relative roughness must lie in 0 to 0.1, not {relative_roughness}")
    factor, _ = friction_factor_and_slope(re.ravel(), rough.ravel())
    return factor.reshape(re.shape) if re.ndim else float(factor[0])


def darcy_pressure_loss(
    flow: Value,
    *,
    inside_diameter: float | Floats,
    length: float,
    roughness: float | Floats,
    density: float = DENSITY,
    viscosity: float = VISCOSITY,
) -> Value:
    """Pressure lost to friction in a full pipe: f · L/D · rho · v²/2.

    Parameters: flow [m³/s]; inside_diameter [m], true bore; length [m]; roughness [m]; density [kg/m³] and kinematic
    viscosity [m²/s] of the water, by default at 15 °C. Returns: loss [Pa], with the sign of the flow. Shapes of flow,
    bore and roughness broadcast: flows (n, 1) in bores (m,) lose (n, m).
    Errors: InputError for a bore that is not positive. Range and source: see friction_factor; Darcy-Weisbach.

    >>> round(darcy_pressure_loss(0.0006, inside_diameter=0.0266, length=30.0, roughness=1.5e-6))
    16162
    """
    flows, bore = np.asarray(flow, float), np.asarray(inside_diameter, float)
    if np.any(bore <= 0):
        raise InputError(f"inside diameter must be positive, not {inside_diameter} m")
    speed = np.abs(flows) / area(bore)
    reynolds = np.maximum(speed * bore / viscosity, 1e-9)
    factor = friction_factor(reynolds, roughness / bore)
    loss = np.sign(flows) * factor * length / bore * density * speed**2 / 2
    return loss if np.ndim(loss) else float(loss)  # type: ignore[return-value]


def hazen_williams_head_loss(flow: Value, *, inside_diameter: float, length: float, c_factor: float = 150.0) -> Value:
    """Head lost to friction by the trade's tables: 10.67 L Q^1.852 / (C^1.852 D^4.8704).

    Parameters: flow [m³/s], not negative; inside_diameter [m]; length [m]; c_factor [-], 150 for smooth plastic.
    Returns: head loss [m]. For water near 15 °C in turbulent flow; in small pipes it strays from Darcy-Weisbach by
    5 % and more (see docs/theory/hydraulics.md), so no solver here uses it: it is for comparing with printed tables.
    Source: Hazen-Williams in SI, as in hydraulics texts (from memory); NFPA 13 prints 4.52 for psi, gpm and in.

    >>> round(hazen_williams_head_loss(0.0006, inside_diameter=0.025, length=30.0), 2)
    2.05
    """
    head: Value = 10.67 * length * (flow / c_factor) ** 1.852 / inside_diameter**4.8704
    return head


def hazen_williams_pressure_loss(
    flow: Value, *, inside_diameter: float, length: float, c_factor: float = 150.0, density: float = DENSITY
) -> Value:
    """Pressure lost to friction [Pa] by Hazen-Williams; parameters and range as for hazen_williams_head_loss."""
    head = hazen_williams_head_loss(flow, inside_diameter=inside_diameter, length=length, c_factor=c_factor)
    return density * GRAVITY * head


def turbulent_friction_factor(inside_diameter: float, *, roughness: float = _STEEL_ROUGHNESS) -> float:
    """Friction factor fT at complete turbulence, on which fitting coefficients rest.

    Parameters: inside_diameter [m]; roughness [m], by default clean steel, for which Crane's fittings were measured:
    their coefficients belong to the shape of the fitting, not to the pipe joined to it. Returns: fT [-].
    Source: Colebrook-White at infinite Reynolds number; Crane Technical Paper 410 tabulates it (from memory).

    >>> round(turbulent_friction_factor(1.049 * INCH), 4)
    0.0225
    """
    return (2 * math.log10(3.7 * inside_diameter / roughness)) ** -2


def fitting_coefficient(kind: FittingKind, *, inside_diameter: float) -> float:
    """Loss coefficient K = n · fT of a fitting, on the velocity head in its own bore.

    Parameters: kind, a key of FITTING_LENGTHS; inside_diameter [m]. Returns: K [-].
    Insert fittings of PE pipe narrow the bore and lose more; no general figure exists for them.
    Source: Crane Technical Paper 410, appendix A, 2009 and later (from memory).

    >>> round(fitting_coefficient("tee branch", inside_diameter=1.049 * INCH), 2)
    1.35
    """
    return FITTING_LENGTHS[kind] * turbulent_friction_factor(inside_diameter)


def fitting_pressure_loss(
    flow: Value, *, inside_diameter: float, coefficient: float, density: float = DENSITY
) -> Value:
    """Pressure lost in fittings: K · rho · v²/2.

    Parameters: flow [m³/s]; inside_diameter [m]; coefficient K [-]; density [kg/m³]. Returns: loss [Pa], with the
    sign of the flow. Source: definition of K.
    """
    return coefficient * density / 2 * flow * abs(flow) / area(inside_diameter) ** 2


def multiple_outlet_factor(outlets: int, *, exponent: float = 1.852) -> float:
    """Friction of a line with equal outlets over that of a line that carries all its flow to the end.

    Parameters: outlets, number N, the first one full spacing from the inlet; exponent m of flow in the friction law.
    Returns: F [-] = 1/(m+1) + 1/(2N) + sqrt(m-1)/(6 N²); 1 for one outlet, where the series overshoots a little.
    Source: Christiansen (1942); National Engineering Handbook 623, chapter 11 (from memory).

    >>> round(multiple_outlet_factor(10), 3)
    0.402
    """
    if _outlets(outlets) == 1:
        return 1.0
    return 1 / (exponent + 1) + 1 / (2 * outlets) + math.sqrt(exponent - 1) / (6 * outlets**2)


def half_spacing_outlet_factor(outlets: int, *, exponent: float = 1.852) -> float:
    """Give Christiansen's F [-] when the first outlet stands half a spacing from the inlet; as multiple_outlet_factor.

    >>> round(half_spacing_outlet_factor(10), 3)
    0.371
    """
    if _outlets(outlets) == 1:
        return 1.0
    return 2 * outlets / (2 * outlets - 1) * (1 / (exponent + 1) + math.sqrt(exponent - 1) / (6 * outlets**2))


def exact_multiple_outlet_factor(outlets: int, *, exponent: float = 1.852) -> float:
    """Give the sum that Christiansen's F approaches: sum of k^m for k = 1..N, over N^(m+1). Parameters as there.

    >>> round(exact_multiple_outlet_factor(2), 4)
    0.6385
    """
    return float(sum(k**exponent for k in range(1, _outlets(outlets) + 1)) / outlets ** (exponent + 1))


def _outlets(number: int) -> int:
    if number < 1:
        raise InputError(f"a line needs at least one outlet, not {number}")
    return number
