"""How likely every rate of leakage makes what a gauge showed on closed pipes.

Statement. Water, walls and trapped air share the closed volume V. From the start of the watch, at pressure P0 and
temperature T0, the balance of volumes at any time t is

    V (c + w)(P - P0) + V [s (T - T0) - swelling of water(T0 to T)] + V w P0 creep(t) + leaked(t)
        = air · [(P0 + atmosphere)/(P + atmosphere) · T/T0 - 1],
    d leaked/dt = rate · (P/P0)^m,

with c the compressibility of water, w and s stretch and swelling of the walls. Unknown besides the rate are the trapped
air, how much the walls really give, creep, the exponent m, the true start pressure and, where nobody read the water's
temperature, its drift: standard normal coordinates z with spreads from handbooks or judgement. For each rate of a fixed
set the best z is found by Gauss and Newton and the rest integrated by Laplace's method, so the whole is deterministic:

    log evidence(rate) = -1/2 (sum of residuals² + z²) - 1/2 log det(J'J + 1).

Sources: physics/closed_pipe.py; leak exponents 0.5 for an orifice to 1.5 for a split in plastic, FAVAD, May (1994),
from memory; Laplace's method, Bishop, Pattern Recognition and Machine Learning (2006) 4.4, from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rillwright.physics.closed_pipe import ATMOSPHERE, creep_share
from rillwright.physics.water import compressibility, density
from rillwright.solvers.leak.march_kernel import march
from rillwright.solvers.leak.pipes import ClosedPipes

__all__ = ["HOURLY_LITRE", "RATES", "Evidence", "Look", "Run", "Watch", "pressures", "weigh_watch"]

Floats = NDArray[np.float64]

HOURLY_LITRE = 1e-3 / 3600  # [m³/s]
RATES = np.concatenate([[0.0], HOURLY_LITRE * np.logspace(-2, 3.5, 67)])  # [m³/s] at the start pressure, none first
AIR, AIR_SPREAD = 0.005, 1.2  # share of the volume, of the logarithm: a line that was filled with care; judgement
STRETCH_SPREAD = 0.20  # of the logarithm: walls as made, modulus by temperature; judgement
CREEP_SPREAD = 0.40  # of the logarithm; judgement
EXPONENT, EXPONENT_SPREAD = 1.0, 0.3
DRIFT_SPREAD = 2.0 / 3600  # [K/s] of water that nobody took the temperature of; judgement
LEAST_HELD = 60.0  # [s] under pressure before a watch, at the least: somebody must read the gauge
_SIZE = 6  # air, stretch, creep, exponent, start pressure, drift
_PIECES = 6  # steps of time between two looks
_ROUNDS = 12
_STEP = 1e-3
_KNOTS = np.linspace(273.15, 313.15, 401)  # [K]
_DENSITIES = np.array([density(float(knot)) for knot in _KNOTS])  # [kg/m³]


@dataclass(frozen=True, slots=True)
class Look:
    """One look at the gauge."""

    after: float  # [s]
    pressure: float  # [Pa]
    water: float | None = None  # [K]


@dataclass(frozen=True, slots=True)
class Watch:
    """Closed pipes under a gauge."""

    pipes: ClosedPipes
    looks: tuple[Look, ...]  # in order, the first at 0 s or later
    pressure_error: float  # [Pa] standard, of a change
    water_error: float  # [K] standard, of a change
    held: float  # [s] under pressure before
    temperature: float  # [K] of the water where nobody took it


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a watch says of each of RATES."""

    log: Floats  # (rates,) evidence, up to a constant
    best: Floats  # (rates, 6) z


@dataclass(frozen=True, slots=True)
class Run:
    """Which causes work in a forecast."""

    leak: bool = True
    creep: bool = True
    warmth: bool = True


def weigh_watch(watch: Watch) -> Evidence:
    """Weigh every rate of leakage."""
    z = np.zeros((len(RATES), _SIZE))
    fit, slopes = _linear(watch, z)
    for _ in range(_ROUNDS):
        moved = _gauss_newton(z, fit, slopes)
        step = np.ones(len(RATES))
        before = _misfit(fit, z)
        for _ in range(4):
            tried = z + step[:, None] * (moved - z)
            worse = _misfit(_residuals(watch, tried), tried) > before + 1e-9
            if not worse.any():
                break
            step = np.where(worse, step / 3, step)
        if np.abs(tried - z).max() < 1e-3:
            break
        z = np.where(worse[:, None], z, tried)
        fit, slopes = _linear(watch, z)
    curve = np.einsum("rni,rnj->rij", slopes, slopes) + np.eye(_SIZE)
    return Evidence(-0.5 * _misfit(fit, z) - 0.5 * np.linalg.slogdet(curve)[1], z)


def _gauss_newton(z: Floats, fit: Floats, slopes: Floats) -> Floats:
    curve = np.einsum("rni,rnj->rij", slopes, slopes) + np.eye(_SIZE)
    pull = np.einsum("rni,rn->ri", slopes, np.einsum("rni,ri->rn", slopes, z) - fit)
    return np.asarray(np.linalg.solve(curve, pull[:, :, None])[:, :, 0])


def _misfit(fit: Floats, z: Floats) -> Floats:
    return np.asarray((fit**2).sum(axis=1) + (z**2).sum(axis=1))


def _linear(watch: Watch, z: Floats) -> tuple[Floats, Floats]:
    """Residuals (rates, looks) at z (rates, 6), and their slopes (rates, looks, 6)."""
    moves = np.concatenate([np.zeros((1, _SIZE)), _STEP * np.eye(_SIZE)])
    every = (z[:, None] + moves).reshape(-1, _SIZE)
    found = _residuals(watch, every, np.repeat(RATES, _SIZE + 1)).reshape(len(z), _SIZE + 1, -1)
    return found[:, 0], np.asarray((found[:, 1:] - found[:, :1]).transpose(0, 2, 1) / _STEP)


def _residuals(watch: Watch, z: Floats, rates: Floats = RATES) -> Floats:
    """Standard errors (n, looks) by which each z misses the looks; a wrong thermometer counts as a wrong gauge."""
    shown = np.array([look.pressure for look in watch.looks])
    foretold = pressures(watch, z, rates)
    read = sum(look.water is not None for look in watch.looks) > 1
    error = np.hypot(watch.pressure_error, _per_kelvin(watch) * watch.water_error if read else 0.0)
    return np.asarray((foretold - shown) / error)


def _per_kelvin(watch: Watch) -> float:
    """Pressure [Pa] that a kelvin makes, as it were, with the usual air."""
    pipes, start = watch.pipes, watch.looks[0].pressure
    mean = _start_temperature(watch)
    give = compressibility(mean) + pipes.stretch + AIR / (start + ATMOSPHERE)
    return (density(mean) / density(min(mean + 1, 313.15)) - 1 - pipes.swelling) / give


def _start_temperature(watch: Watch) -> float:
    return next((look.water for look in watch.looks if look.water is not None), watch.temperature)


def _temperatures(watch: Watch, times: Floats, drift: Floats) -> Floats:
    """Temperature [K] (n, times): straight between readings, drifting where nobody took any."""
    start = _start_temperature(watch)
    seen = [(look.after, look.water) for look in watch.looks if look.water is not None]
    if len(seen) > 1:
        path = np.interp(times, [at for at, _ in seen], [water for _, water in seen])
        return np.broadcast_to(path, (len(drift), len(times)))
    return np.clip(start + drift[:, None] * times, 273.15, 313.15)


def pressures(watch: Watch, z: Floats, rates: Floats, run: Run = Run()) -> Floats:
    """Pressure [Pa] at each look (n, looks) for coordinates z (n, 6) and leak rates [m³/s] (n,)."""
    pipes, begin = watch.pipes, watch.looks[0].after
    times = np.array([look.after - begin for look in watch.looks])
    fine = np.concatenate([[0.0], *(np.linspace(a, b, _PIECES + 1)[1:] for a, b in pairwise(times))])
    start = np.maximum(watch.looks[0].pressure + watch.pressure_error * z[:, 4], 1e3)
    warm = _temperatures(watch, fine, DRIFT_SPREAD * z[:, 5])
    if not run.warmth:
        warm = np.broadcast_to(warm[:, :1], warm.shape)
    first = float(warm[0, 0])
    swell = density(first) / _density(warm) - 1
    stretch = pipes.stretch * np.exp(STRETCH_SPREAD * z[:, 1])
    give = compressibility(first) + stretch
    grown = creep_share(fine, per_decade=pipes.creep, held=max(watch.held, LEAST_HELD))
    crept = np.exp(CREEP_SPREAD * z[:, 2])[:, None] * grown * (stretch * start)[:, None] * run.creep
    air = AIR * np.exp(AIR_SPREAD * z[:, 0])
    power = np.clip(EXPONENT + EXPONENT_SPREAD * z[:, 3], 0.4, 2.0)
    rate = rates / pipes.volume * run.leak
    moved = pipes.swelling * (warm - first) - swell + crept
    return np.asarray(march(fine, start, give, air, rate, power, moved, warm / first))[:, ::_PIECES]


def _density(kelvin: Floats) -> Floats:
    """Density of water, as physics.water has it, straight between tenths of a kelvin."""
    return np.asarray(np.interp(kelvin, _KNOTS, _DENSITIES))


def longer(watch: Watch, looks: Sequence[Look]) -> Watch:
    """The same watch with further looks."""
    return replace(watch, looks=(*watch.looks, *looks))
