"""Which single cause explains a zone's readings best, and which reading next would tell the causes apart.

Statement. With y the readings, m_f and C_f what fault f foretells of them (forecast.py) and R the gauges' errors,

    odds(cause) ~ odds before · mean over its faults of N(y; m_f, C_f + R) · chance of what was seen.

The information in a further reading z is H(z) - sum over faults of odds · H(z | fault), given the readings so far: what
it is expected to tell of the label 'cause and place', and of the cause alone; the two are added, so that of two
readings that part the causes alike the one that also finds the place is asked for. Source: Bayes; mutual information
and normal conditioning, Bishop, Pattern Recognition and Machine Learning (2006) 1.6 and 2.3, from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special

from rillwright.solvers.startup.causes import BEFORE, CAUSES, Cause, Fault
from rillwright.solvers.startup.forecast import FLOW, Forecast

__all__ = ["USUAL_GAUGE", "Ask", "Diagnosis", "Gauge", "Look", "diagnose"]

Floats = NDArray[np.float64]

USUAL_GAUGE = 14e3  # [Pa] about 2 psi
USUAL_FLOW = 0.03  # share
_MISREAD = 0.05  # chance that a look says something else than what is; judgement
_GRID = 121
_LEAST = 1e-6  # odds under which a fault is left out of what is foreseen
_STRANGE = 0.005  # chance of readings so far off the best fault, under which no cause explains them

What = Literal["nozzle in the hand", "walk while it runs"]
# Chance of what is seen on a walk: gushing at a head, a short or odd throw at a head, wet ground, nothing; judgement.
_WALK: dict[Cause, tuple[float, float, float, float]] = {
    "head broken or missing": (0.93, 0.02, 0.02, 0.03),
    "leak in a lateral": (0.03, 0.03, 0.60, 0.34),
}
_QUIET = (0.01, 0.03, 0.01, 0.95)
_STRIKES = 2.7  # a head at half or twice its flow is noticed in 85 of 100 walks; judgement
WALK_SEEN = ("gushing", "short or odd throw", "wet ground", "nothing odd")
HAND_SEEN = ("as planned", "clogged", "another nozzle", "broken or missing")
_IN_HAND: dict[Cause, int] = {"nozzle clogged": 1, "wrong nozzle": 2, "head broken or missing": 3}


@dataclass(frozen=True, slots=True)
class Gauge:
    """A reading of one column."""

    column: str
    value: float  # SI
    error: float  # SI, standard


@dataclass(frozen=True, slots=True)
class Look:
    """What somebody saw: with the nozzle of `head` in the hand, or on a walk, at `head` or nowhere in particular."""

    what: What
    seen: str  # of HAND_SEEN or WALK_SEEN
    head: str = ""


@dataclass(frozen=True, slots=True)
class Ask:
    """A further measurement, and what it is expected to tell."""

    what: Literal["gauge", "nozzle in the hand", "walk while it runs"]
    at: str  # column or head; empty for a walk
    bits: float  # of the causes
    bits_of_place: float  # of causes and places


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What a zone's start says."""

    odds: tuple[tuple[Cause, float], ...]  # likeliest first
    places: tuple[tuple[Cause, str, float], ...]  # every cause and place, likeliest first
    strange: bool  # no cause explains the readings
    asks: tuple[Ask, ...]  # most telling first


def diagnose(forecast: Forecast, gauges: Sequence[Gauge], looks: Sequence[Look] = ()) -> Diagnosis:
    """Weigh every cause. Parameters: gauges, each of a column of the forecast; looks."""
    weights, distance = _weights(forecast, gauges, looks)
    odds = {cause: float(weights[[f.cause == cause for f in forecast.faults]].sum()) for cause in CAUSES}
    places: dict[tuple[Cause, str], float] = {}
    for fault, weight in zip(forecast.faults, weights, strict=True):
        places[fault.cause, fault.where] = places.get((fault.cause, fault.where), 0.0) + float(weight)
    named = sorted(((*key, value) for key, value in places.items()), key=lambda row: -row[2])
    off = float(special.chdtrc(max(len(gauges), 1), distance.min())) if gauges else 1.0
    return Diagnosis(
        odds=tuple(sorted(odds.items(), key=lambda pair: -pair[1])),
        places=tuple(named),
        strange=off < _STRANGE,
        asks=_asks(forecast, gauges, looks, weights),
    )


def _weights(forecast: Forecast, gauges: Sequence[Gauge], looks: Sequence[Look]) -> tuple[Floats, Floats]:
    """Odds of every fault, and the squared distance of the readings from it."""
    logs = _before(forecast.faults)
    distance = np.zeros(len(logs))
    if gauges:
        own, cover = _of_readings(forecast, gauges)
        y = np.array([gauge.value for gauge in gauges])
        miss = y - forecast.mean[:, own]
        pulled = np.linalg.solve(cover, miss[:, :, None])[:, :, 0]
        distance = np.einsum("fi,fi->f", miss, pulled)
        logs = logs - 0.5 * distance - 0.5 * np.linalg.slogdet(cover)[1]
    for look in looks:
        chance = _hand(forecast.faults, look.head) if look.what == "nozzle in the hand" else _walk(forecast)
        column = HAND_SEEN.index(look.seen) if look.what == "nozzle in the hand" else _walk_column(forecast, look)
        logs = logs + np.log(np.maximum(chance[:, column], 1e-12))
    weights = np.exp(logs - logs.max())
    return weights / weights.sum(), distance


def _before(faults: Sequence[Fault]) -> Floats:
    """Logarithm of the odds before measuring: alike for the places of a cause, and for the faults at one place."""
    places: dict[Cause, dict[str, int]] = {cause: {} for cause in CAUSES}
    for fault in faults:
        places[fault.cause][fault.where] = places[fault.cause].get(fault.where, 0) + 1
    return np.log([BEFORE[f.cause] / len(places[f.cause]) / places[f.cause][f.where] for f in faults])


def _of_readings(forecast: Forecast, gauges: Sequence[Gauge]) -> tuple[list[int], Floats]:
    """Columns that were read, and the covariance of their readings under each fault."""
    own = [forecast.columns.index(gauge.column) for gauge in gauges]
    cover = forecast.covariance[:, own][:, :, own] + np.diag([gauge.error**2 for gauge in gauges])
    return own, cover


def _hand(faults: Sequence[Fault], head: str) -> Floats:
    """Chance of each of HAND_SEEN at a head (faults, 4)."""
    true = np.array([_IN_HAND.get(fault.cause, 0) if fault.where == head else 0 for fault in faults])
    chance = np.full((len(faults), len(HAND_SEEN)), _MISREAD / (len(HAND_SEEN) - 1))
    chance[np.arange(len(faults)), true] = 1 - _MISREAD
    return chance


def _heads_of(forecast: Forecast) -> tuple[str, ...]:
    return forecast.columns[3:]


def _walk_column(forecast: Forecast, look: Look) -> int:
    heads, kind = _heads_of(forecast), WALK_SEEN.index(look.seen)
    if kind < 2:
        return kind * len(heads) + heads.index(look.head)
    return 2 * len(heads) + kind - 2


def _on_walk(fault: Fault) -> tuple[float, float, float, float]:
    if fault.cause not in ("nozzle clogged", "wrong nozzle"):
        return _WALK.get(fault.cause, _QUIET)
    seen = 0.98 * (1 - math.exp(-_STRIKES * abs(math.log(fault.nozzle))))
    return 0.01, max(seen, 0.03), 0.01, 0.98 - max(seen, 0.03)


def _walk(forecast: Forecast) -> Floats:
    """Chance of what is seen on a walk: gushing at each head, throw at each head, wet ground, nothing."""
    heads = _heads_of(forecast)
    chance = np.zeros((len(forecast.faults), 2 * len(heads) + 2))
    for row, fault in enumerate(forecast.faults):
        gush, throw, wet, nothing = _on_walk(fault)
        at = np.full(len(heads), 1 / len(heads))
        if fault.where in heads and fault.cause != "leak in a lateral":
            at = np.where(np.array(heads) == fault.where, 0.97, 0.03 / max(len(heads) - 1, 1))
        chance[row] = np.concatenate([gush * at, throw * at, [wet, nothing]])
    return chance


def _asks(forecast: Forecast, gauges: Sequence[Gauge], looks: Sequence[Look], weights: Floats) -> tuple[Ask, ...]:
    kept = weights > _LEAST
    faults = [fault for fault, keep in zip(forecast.faults, kept, strict=True) if keep]
    odds = weights[kept] / weights[kept].sum()
    labels = [
        np.unique([f.cause for f in faults], return_inverse=True)[1],
        np.unique([f"{f.cause} {f.where}" for f in faults], return_inverse=True)[1],
    ]
    asks: list[Ask] = []
    read = {gauge.column for gauge in gauges}
    for column in forecast.columns:
        if column not in read:
            density = _foreseen(forecast, gauges, column, kept)
            asks.append(Ask("gauge", column, *(_information(density, odds, label) for label in labels)))
    if not any(look.what == "walk while it runs" for look in looks):
        walk = _walk(forecast)[kept]
        asks.append(Ask("walk while it runs", "", *(_information(walk, odds, label) for label in labels)))
    held = {look.head for look in looks if look.what == "nozzle in the hand"}
    for head in _heads_of(forecast):
        if head not in held:
            seen = _hand(faults, head)
            asks.append(Ask("nozzle in the hand", head, *(_information(seen, odds, label) for label in labels)))
    return tuple(sorted(asks, key=lambda ask: -(ask.bits + ask.bits_of_place)))


def _foreseen(forecast: Forecast, gauges: Sequence[Gauge], column: str, kept: NDArray[np.bool_]) -> Floats:
    """Density of a further reading under each fault kept, on a grid (faults, grid), each row summing to 1."""
    k = forecast.columns.index(column)
    mean, variance = forecast.mean[:, k].copy(), forecast.covariance[:, k, k].copy()
    if gauges:
        own, cover = _of_readings(forecast, gauges)
        gain = np.linalg.solve(cover, forecast.covariance[:, own, k][:, :, None])[:, :, 0]
        y = np.array([gauge.value for gauge in gauges])
        mean += np.einsum("fi,fi->f", gain, y - forecast.mean[:, own])
        variance -= np.einsum("fi,fi->f", gain, forecast.covariance[:, own, k])
    error = USUAL_FLOW * max(float(np.median(mean)), 1e-6) if column == FLOW else USUAL_GAUGE
    spread = np.sqrt(np.maximum(variance, 0.0) + error**2)
    mean, spread = mean[kept], spread[kept]
    grid = np.linspace((mean - 3 * spread).min(), (mean + 3 * spread).max(), _GRID)
    density = np.exp(-0.5 * ((grid - mean[:, None]) / spread[:, None]) ** 2) / spread[:, None]
    return np.asarray(density / density.sum(axis=1, keepdims=True))


def _information(chance: Floats, odds: Floats, label: NDArray[np.intp]) -> float:
    """Information [bit] between a label of the faults and an outcome; chance (faults, outcomes)."""
    joint = np.zeros((label.max() + 1, chance.shape[1]))
    np.add.at(joint, label, odds[:, None] * chance)
    apart = joint.sum(axis=1, keepdims=True) * joint.sum(axis=0, keepdims=True)
    return max(float(special.rel_entr(joint, apart).sum() / np.log(2)), 0.0)
