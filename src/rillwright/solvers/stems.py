"""Stems of flow controls, drawn where readings put them: tempered importance sampling over turns, exponent and loss.

Each step draws valves from kernels round those that the readings so far favour, a tenth of them from the prior, and
weighs them by prior · likelihood^power / density drawn from; the power grows to 1 as fast as enough valves stay in
effect. Source: adaptive importance sampling with tempering, textbooks of Monte Carlo, from memory.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

__all__ = ["Stems", "learnt_stems"]

Floats = NDArray[np.float64]

TURNS, TURNS_SPREAD = 7.0, 0.35  # of the logarithm
EXPONENT, EXPONENT_SPREAD = 2.0, 0.35
WIDE_SPREAD = 0.3  # of the logarithm
_VALVES = 1024  # drawn in a step
_CENTRES = 64
_NARROW = 0.5  # spread of a kernel, of the spread of what it is round
_PRIOR = 0.1  # share drawn from the prior
_ENOUGH = 200.0  # effective number of valves
_STEPS = 12


@dataclass(frozen=True)
class Stems:
    """Drawn valves."""

    turns: Floats  # (valves,) N
    power: Floats
    own: Floats  # [Pa/(m³/s)²] loss factor wide open
    weights: Floats = field(default_factory=lambda: np.empty(0))  # add up to 1
    effective: float = 0.0
    least_miss: float = 0.0  # squared, of the valve that comes nearest

    @property
    def count(self) -> int:
        """How many."""
        return len(self.turns)

    def added(self, turns: Floats) -> Floats:
        """Factor (valves, n) that each adds at so many turns; a stem cannot be turned beyond its end."""
        left = np.maximum(1 - turns / self.turns[:, None], 1e-3)
        return np.asarray(self.own[:, None] * (left ** -self.power[:, None] - 1))

    def take(self, rows: Sequence[int] | NDArray[np.intp]) -> "Stems":
        """Some of them, without weights."""
        return Stems(self.turns[rows], self.power[rows], self.own[rows])


def learnt_stems(likelihood: Callable[[Stems], tuple[Floats, Floats]], *, wide: float, seed: int) -> Stems:
    """Valves weighed by readings.

    Parameters: likelihood, of valves its logarithm and the squared miss of the readings (valves,); wide [Pa/(m³/s)²],
    loss factor of the median valve; seed.
    """
    place = _normals(seed, 0)
    drawn, power = _log_prior(place), 0.0
    for step in range(1, _STEPS + 1):
        stems = _stems(place, wide)
        logs, miss = likelihood(stems)
        start = _log_prior(place) - drawn
        power = _power(start, logs, least=power)
        weights = _weights(start + power * logs)
        if power == 1.0 or step == _STEPS:
            break
        place, drawn = _nearer(place, weights, seed, step)
    weights = _weights(start + logs)
    effective = 1 / float((weights**2).sum())
    return Stems(stems.turns, stems.power, stems.own, weights, effective, float(miss.min()))


def _normals(seed: int, step: int) -> Floats:
    """Points of a standard normal in three dimensions, evenly spread."""
    cube = stats.qmc.Sobol(3, scramble=True, rng=np.random.default_rng([seed, 5, step])).random(_VALVES)
    return np.asarray(stats.norm.ppf(np.clip(cube, 1e-9, 1 - 1e-9)))


def _stems(place: Floats, wide: float) -> Stems:
    turns = TURNS * np.exp(TURNS_SPREAD * place[:, 0])
    power = np.maximum(EXPONENT + EXPONENT_SPREAD * place[:, 1], 0.8)
    return Stems(turns, power, wide * np.exp(WIDE_SPREAD * place[:, 2]))


def _log_prior(place: Floats) -> Floats:
    return np.asarray(-0.5 * (place**2).sum(axis=1) - 1.5 * np.log(2 * np.pi))


def _weights(logs: Floats) -> Floats:
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())


def _power(start: Floats, logs: Floats, *, least: float) -> float:
    """Greatest power of the likelihood, from that of the step before to 1, under which enough valves count."""

    def over(power: float) -> float:
        return 1 / float((_weights(start + power * logs) ** 2).sum()) - _ENOUGH

    if over(1.0) >= 0:
        return 1.0
    return float(optimize.brentq(over, least, 1.0, xtol=1e-12, rtol=1e-4)) if over(least) > 0 else least


def _nearer(place: Floats, weights: Floats, seed: int, step: int) -> tuple[Floats, Floats]:
    """Valves drawn near those that weigh most, and the logarithm of the density that they are drawn from."""
    dice = np.random.default_rng([seed, 7, step])
    fresh = _normals(seed, step)
    rows = np.minimum(np.searchsorted(np.cumsum(weights), (np.arange(_CENTRES) + 0.5) / _CENTRES), len(place) - 1)
    centres = place[rows]
    spread = _NARROW**2 * np.cov(place.T, aweights=weights) + 1e-12 * np.eye(3)
    root = np.linalg.cholesky(spread)
    near = dice.random(len(fresh)) >= _PRIOR
    found = np.where(near[:, None], centres[dice.integers(_CENTRES, size=len(fresh))] + fresh @ root.T, fresh)
    away = np.linalg.solve(root, (found[:, None] - centres).reshape(-1, 3).T).T.reshape(len(found), _CENTRES, 3)
    kernels = np.exp(-0.5 * (away**2).sum(axis=2)).mean(axis=1) / ((2 * np.pi) ** 1.5 * np.prod(np.diag(root)))
    return found, np.log((1 - _PRIOR) * kernels + _PRIOR * np.exp(_log_prior(found)))
