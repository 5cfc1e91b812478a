"""What one more measurement would tell, before anybody takes it.

Statement. Draws i, equally likely, foretell for a measurement what it would show, m_i with standard error e_i, and
carry the quantities q_i and the verdicts v_i that a plan hangs on. For readings y_j simulated from draws j the draws
weigh anew, w_ij ~ N(y_j; m_i, e_i); the mean over j of the width of the weighted 90 % band of q, and of the chance
that a verdict given by the likelier side is wrong, are what to expect after measuring. Source: preposterior analysis,
Raiffa and Schlaifer, Applied Statistical Decision Theory (1961), from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from rillwright.model.certainty import NextMeasurement, Subject

__all__ = ["Candidate", "Quantity", "rank_measurements", "weights_under"]

Floats = NDArray[np.float64]

_SIMULATED = 128  # readings simulated for each candidate
_LOW, _HIGH = 0.05, 0.95
_WORTH = 0.005  # a smaller gain in the chance of a wrong verdict counts as none


@dataclass(frozen=True, slots=True)
class Candidate:
    """A measurement that somebody could take."""

    what: str
    of: Subject
    shown: Floats  # (n,) what each draw would show, any unit
    error: Floats  # (n,) standard error of the reading, in that unit


@dataclass(frozen=True, slots=True)
class Quantity:
    """Something the plan hangs on."""

    name: str
    dimension: str
    values: Floats  # (n,)
    limit: float | None = None  # of the values, where the verdict turns
    holds: NDArray[np.bool_] | None = None  # (n,) the verdict


def rank_measurements(
    candidates: Sequence[Candidate], quantities: Sequence[Quantity], *, seed: int
) -> tuple[NextMeasurement, ...]:
    """Rank candidates: first by how much less often a verdict would be wrong, then by how much they tell.

    The latter is the expected value of sample information of a normal quantity with linear loss: r · L(z / r) in
    standard deviations, where z is the distance of the quantity from its limit, r² the share of its variance that the
    measurement takes away, and L(u) = φ(u) - u·Φ(-u) the unit normal loss. It is 0 for what is far from its limit,
    and orders the candidates where no draw comes near one.
    Parameters: candidates and quantities on the same draws; seed. Returns: best first.
    """
    found = [_foresee(candidate, quantities, seed) for candidate in candidates]
    return tuple(item for _, item in sorted(found, key=lambda pair: pair[0], reverse=True))


def _told(quantity: Quantity, before: float, after: float) -> float:
    """Expected value of sample information, in standard deviations of the quantity."""
    if not 0 <= after < before:
        return 0.0
    root = float(np.sqrt(1 - (after / before) ** 2))
    distance = 0.0
    if quantity.limit is not None:
        distance = abs(float(np.mean(quantity.values)) - quantity.limit) / float(np.std(quantity.values))
    far = distance / root
    return root * float(math.exp(-(far**2) / 2) / math.sqrt(math.tau) - far * ndtr(-far))


def _foresee(
    candidate: Candidate, quantities: Sequence[Quantity], seed: int
) -> tuple[tuple[float, float], NextMeasurement]:
    """Worth of a candidate, and its expected bands and chances; the quantity named is the one it tells most of."""
    bands: list[tuple[float, float]] = []
    told: list[float] = []
    right_before, right_after = 1.0, 1.0
    for quantity in quantities:
        weights = weights_under(candidate, quantity.values, seed)
        before = float(np.subtract(*np.quantile(quantity.values, (_HIGH, _LOW))))
        bands.append((before, min(before, _mean_band(quantity.values, weights))))
        told.append(_told(quantity, *bands[-1]))
        if quantity.holds is not None:
            chance = float(quantity.holds.mean())
            wrong = min(chance, 1 - chance)
            after = weights @ quantity.holds
            right_before *= 1 - wrong
            right_after *= 1 - min(wrong, float(np.minimum(after, 1 - after).mean()))
    best = int(np.argmax(told))
    gain = right_after - right_before
    return (gain if gain >= _WORTH else 0.0, told[best]), NextMeasurement(
        what=candidate.what,
        of=candidate.of,
        moves=quantities[best].name,
        dimension=quantities[best].dimension,
        band_before=bands[best][0],
        band_after=bands[best][1],
        wrong_before=1 - right_before,
        wrong_after=1 - right_after,
    )


def weights_under(candidate: Candidate, values: Floats, seed: int) -> Floats:
    """Weights (simulated, n) of the draws under readings simulated from draws spread evenly along `values`."""
    rng = np.random.default_rng(seed)
    count = len(values)
    order = np.argsort(values, kind="stable")
    true = order[((np.arange(_SIMULATED) + 0.5) / _SIMULATED * count).astype(np.intp)]
    shown = candidate.shown[true] + candidate.error[true] * rng.standard_normal(_SIMULATED)
    logs = -0.5 * ((shown[:, None] - candidate.shown) / candidate.error) ** 2 - np.log(candidate.error)
    weights = np.exp(logs - logs.max(axis=1, keepdims=True))
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def _mean_band(values: Floats, weights: Floats) -> float:
    order = np.argsort(values, kind="stable")
    running, ordered = np.cumsum(weights[:, order], axis=1), values[order]
    last = len(values) - 1
    low = np.asarray([np.searchsorted(row, _LOW) for row in running])
    high = np.asarray([np.searchsorted(row, _HIGH) for row in running])
    return float(np.mean(ordered[np.minimum(high, last)] - ordered[np.minimum(low, last)]))
