"""Sampling of the posterior: best point, curvature there, importance draws from a heavy-tailed proposal.

With three to five strongly correlated parameters, importance sampling on a low-discrepancy sequence is exact in the
limit, has no burn-in and reports its own health: the effective sample size.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

from rillwright.errors import SolverError

__all__ = ["Posterior", "best_point", "hessian", "sample"]

FloatArray = NDArray[np.float64]
LogDensity = Callable[[FloatArray], FloatArray]

_SCATTERED = 256
_STARTS = 3
_ALONG = np.linspace(-8.0, 8.0, 33)  # [standard deviations of the prior] tried along each axis
_STEP = 1e-4
_FAR = 40.0  # [standard deviations of the prior] no search goes beyond
_TAIL = 5.0  # degrees of freedom of the proposal
_SPREADING = 1.15  # proposal wider than the curvature says
_ROUNDS = 6
_GOOD_SHARE = 0.25  # effective share of the draws at which adapting stops
_LEAST_EFFECTIVE = 200.0


@dataclass(frozen=True, slots=True)
class Posterior:
    """Equally weighted draws in standard coordinates."""

    draws: FloatArray  # (n, size)
    effective: float  # effective sample size of the weighted draws behind them


def best_point(log_density: LogDensity, *, size: int, seed: int) -> FloatArray:
    """Most probable point (size,): quasi-Newton from the best of many scattered points and from every lone cause.

    A low flow may be laid to the pipe or to the outlet, each far out in its tail where no scattered point lies: so
    the best point along each axis is a start of its own. It is run again in coordinates in which the valley found is
    round, as narrow valleys stop the first run early.
    """
    scattered = special.ndtri(_cube(size, _SCATTERED, seed))
    scattered[0] = 0.0
    order = np.argsort(log_density(scattered))[::-1]
    starts = [*scattered[order[:_STARTS]], *_lone_causes(log_density, size)]
    ends = [_downhill(log_density, start, np.eye(size)) for start in starts]
    best = ends[int(np.argmax(log_density(np.asarray(ends))))]
    for _ in range(2):
        root = np.linalg.cholesky(np.linalg.inv(hessian(log_density, best)))
        best = _downhill(log_density, best, root)
    return best


def _lone_causes(log_density: LogDensity, size: int) -> list[FloatArray]:
    """Best point along each axis, all other coordinates at the prior's median."""
    axes = [_ALONG[:, None] * direction for direction in np.eye(size)]
    return [axis[int(np.argmax(log_density(axis)))] for axis in axes]


def _downhill(log_density: LogDensity, start: FloatArray, root: FloatArray) -> FloatArray:
    """Quasi-Newton from a point in the coordinates start + root·y."""
    size = len(start)
    moves = np.vstack([np.zeros(size), _STEP * np.eye(size), -_STEP * np.eye(size)])

    def height(y: FloatArray) -> tuple[float, FloatArray]:
        values = -log_density(start + (y + moves) @ root.T)
        return float(values[0]), (values[1 : size + 1] - values[size + 1 :]) / (2 * _STEP)

    found = optimize.minimize(height, np.zeros(size), jac=True, method="L-BFGS-B", bounds=[(-_FAR, _FAR)] * size)
    return np.asarray(start + root @ found.x)


def hessian(log_density: LogDensity, z: FloatArray) -> FloatArray:
    """Curvature of the minus-log density at a point (size, size), kept positive definite."""
    size, step = len(z), 1e-3
    move = step * np.eye(size)
    corners = [z + a + b for a in move for b in move]
    corners += [z + a - b for a in move for b in move] + [z - a - b for a in move for b in move]
    plus, cross, minus = (-log_density(np.asarray(corners))).reshape(3, size, size)
    curvature = (plus - cross - cross.T + minus) / (4 * step**2)
    values, vectors = np.linalg.eigh((curvature + curvature.T) / 2)
    return np.asarray(vectors * np.maximum(values, 0.2) @ vectors.T)


def _cube(size: int, count: int, seed: int) -> FloatArray:
    from scipy.stats import qmc  # takes a fifth of a second to import

    points = qmc.Sobol(size, scramble=True, rng=np.random.default_rng(seed)).random(count)
    return np.asarray(np.clip(points, 1e-12, 1 - 1e-12))


def sample(log_density: LogDensity, *, centre: FloatArray, curvature: FloatArray, draws: int, seed: int) -> Posterior:
    """Draw from the posterior.

    Parameters: log_density of points (n, size), up to a constant; centre (size,), best point; curvature (size, size)
    there; draws wanted; seed. The proposal moves to the weighted mean and
    covariance of its own draws until enough of them count.
    Errors: SolverError when too few draws count, so that a band from them would be luck.
    """
    size = len(centre)
    points = _cube(size + 1, 1 << int(np.ceil(np.log2(2 * draws))), seed)
    normal = special.ndtri(points[:, :size])
    stretch = np.sqrt(_TAIL / (2 * special.gammaincinv(_TAIL / 2, points[:, size])))
    directions = normal * stretch[:, None]
    mean, covariance = centre, np.linalg.inv(curvature) * _SPREADING**2
    effective = 0.0
    for _ in range(_ROUNDS):
        root = np.linalg.cholesky(covariance)
        z = mean + directions @ root.T
        proposal = -(_TAIL + size) / 2 * np.log1p(np.sum(directions**2, axis=1) / _TAIL)
        logs = log_density(z) - proposal
        weights = np.exp(logs - np.max(logs))
        weights /= weights.sum()
        effective = float(1 / np.sum(weights**2))
        if effective >= _GOOD_SHARE * len(z):
            break
        mean = weights @ z
        centred = z - mean
        covariance = (centred * weights[:, None]).T @ centred * _SPREADING**2 + 1e-9 * np.eye(size)
    if not effective >= _LEAST_EFFECTIVE:
        raise SolverError(
            f"the supply fit rests on only {effective:.0f} effective draws of {len(points)}; "
            f"at least {_LEAST_EFFECTIVE:.0f} are needed for its bands. Look for a slip in the readings (unit, volume, "
            "seconds, height); if they are right, please report this yard."
        )
    offset = np.random.default_rng(seed).random()
    rows = np.searchsorted(np.cumsum(weights), (np.arange(draws) + offset) / draws * (1 - 1e-12))
    return Posterior(z[np.minimum(rows, len(z) - 1)], effective)
