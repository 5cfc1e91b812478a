"""Intake of a soil from a ring: Kostiakov's curve through what soaked in, and when water stands under a rain.

Cumulative intake F(t) = k t^a, 0 < a <= 1 (Kostiakov, from memory). Fit: weighted least squares over (ln k, a),

    min sum_i ((F_i - k t_i^a) / s)^2,   a in [0.05, 1],

by a trust-region method; the bands are those of its curvature with the spread of a lawn from place to place. No seed,
no gap: two unknowns, one smooth hollow. Under a rain of constant rate p water stands when the soil's rate has fallen
to p; by time condensation that rate depends on what has soaked in alone, i(F) = a k (F/k)^(1-1/a), so it stands from
t = F/p with i(F) = p, that is F = k (p/(a k))^(a/(a-1)) (from memory). Strays: early, dry ground takes in faster than
k t^a tells; a single ring also lets water go sideways and reads too fast.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

__all__ = ["PLACES", "Intake", "ring_intake"]

PLACES = 0.35  # standard deviation of ln(intake) from ring to ring in one lawn; as three rings at 0.20 (certainty)
_WIDE = 1.645  # standard errors: nine in ten
_LEAST = 1e-5  # [m] standard error of a look at the least
_LEAST_POWER = 0.05
_ENDLESS = 20.0  # ln of a depth [m] that no rain reaches


@dataclass(frozen=True, slots=True)
class Intake:
    """What a ring tells of a soil."""

    factor: float  # k [m/s^a]
    power: float  # a
    at: float  # [s] end of the watch
    rate: float  # [m/s] there
    error: float  # standard error of ln(rate), a lawn's places included
    misfit: float  # [m] root mean square of what the curve leaves

    @property
    def band(self) -> tuple[float, float, float]:
        """Rate at the end [m/s]: 5 %, 50 %, 95 %."""
        spread = math.exp(_WIDE * self.error)
        return self.rate / spread, self.rate, self.rate * spread

    def soaked(self, seconds: float) -> float:
        """Water [m] that soaked in by a time [s]."""
        return float(self.factor * seconds**self.power)

    def stands_after(self, rate: float) -> float:
        """Time [s] of a rain of constant rate [m/s] until water stands; without end when it never does."""
        if self.power >= 1:
            return math.inf if rate <= self.factor else 0.0
        if rate <= 0:
            return math.inf
        log_depth = math.log(rate / (self.power * self.factor)) * self.power / (self.power - 1) + math.log(self.factor)
        return math.exp(log_depth) / rate if log_depth < _ENDLESS else math.inf


def ring_intake(times: Sequence[float], depths: Sequence[float], *, error: float) -> Intake:
    """Fit a ring's readings.

    Parameters: times [s], rising; depths [m] soaked in by then, at least two of them after the start and one not 0;
    error [m], standard, of one look. Returns: the curve and its rate at the last time.
    """
    t, f = np.asarray(times, float), np.asarray(depths, float)
    t, f = t[t > 0], f[t > 0]
    scale = max(error, _LEAST)

    def left(p: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray((np.exp(p[0]) * t ** p[1] - f) / scale)

    start = np.array([math.log(f[-1]) - 0.6 * math.log(t[-1]), 0.6])
    bounds = ([-math.inf, _LEAST_POWER], [math.inf, 1.0])
    found = optimize.least_squares(left, start, bounds=bounds, x_scale="jac", xtol=1e-12, ftol=1e-12)
    log_k, a = (float(v) for v in found.x)
    spread = np.linalg.pinv(found.jac.T @ found.jac)
    slope = np.array([1.0, 1 / a + math.log(t[-1])])  # of ln(rate) = ln k + ln a + (a - 1) ln t
    own = float(slope @ spread @ slope)
    k = math.exp(log_k)
    return Intake(
        factor=k,
        power=a,
        at=float(t[-1]),
        rate=a * k * float(t[-1]) ** (a - 1),
        error=math.hypot(math.sqrt(own), PLACES),
        misfit=scale * float(np.sqrt(np.mean(found.fun**2))),
    )
