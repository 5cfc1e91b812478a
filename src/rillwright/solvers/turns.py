"""How many turns to set a zone valve's flow control to, learnt from what the zone did at the turns tried so far.

Statement. A plug that is screwed in by t of N turns leaves a passage in proportion to its lift, so that it takes

    loss / flow² = wide · ((1 - t/N)^-p - 1)

more than wide open, with p near 2. Turns N, exponent p and the valve's own factor wide are uncertain, and so is the
yard (supply, nozzles, fittings, heights). Each drawn yard is solved for a set of control factors once; each drawn valve
then foretells every reading by interpolation. Draws are weighed by the readings (importance sampling), and the turns at
which the zone passes its target follow in each. Source: continuity and Bernoulli for the square; the prior of N and p
is judgement: makers' stems differ.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from rillwright.errors import InputError
from rillwright.solvers.certainty import YardDraws
from rillwright.solvers.startup import Fault, Gauge, StartModel, simulate

__all__ = ["Setting", "Tried", "set_turns"]

Floats = NDArray[np.float64]
Band = tuple[float, float, float]

TURNS, TURNS_SPREAD = 7.0, 0.35  # of the logarithm
EXPONENT, EXPONENT_SPREAD = 2.0, 0.35
WIDE_SPREAD = 0.3  # of the logarithm
_VALVES = 512
_FACTORS = 28
_GREATEST = 40.0  # times what takes the whole pressure at the target flow
_LEAST_EFFECTIVE = 30.0
_STRANGE = 4.0  # standard errors, on the mean, by which the readings may miss the best draw


@dataclass(frozen=True, slots=True)
class Tried:
    """Readings at one setting."""

    turns: float  # in from wide open
    gauges: tuple[Gauge, ...]


@dataclass(frozen=True, slots=True)
class Setting:
    """What to set."""

    target: float  # [m³/s]
    window: tuple[float, float]  # [m³/s] flows with every head in its band, in the median yard; empty when low > high
    inside: float  # chance that every head is in its band at the target
    reached: float  # chance that the zone passes the target at all, wide open
    turns: Band  # from wide open: 5 %, 50 % and 95 %
    whole: Band  # turns of the stem, N
    pressures: tuple[float, ...]  # [Pa] median at each head at the target
    effective: float  # effective number of pairs of yard and valve behind it
    yards: float  # effective number of drawn yards behind it


def set_turns(
    model: StartModel,
    draws: YardDraws,
    tried: Sequence[Tried],
    *,
    wide: float,
    bands: Sequence[tuple[float, float]],
    seed: int = 0,
) -> Setting:
    """Learn a valve and say what to set it to.

    Parameters: model; draws of the yard; tried, with gauges named as startup.Forecast names its columns; wide
    [Pa/(m³/s)²], loss factor of the valve wide open; bands [Pa] (least, greatest) of each head's chart; seed.
    Errors: InputError when the readings contradict everything drawn, or leave too few draws to answer by.
    """
    target = model.zone.target
    factors, shown = _solved(model, draws)
    stems, power, own = _valves(wide, seed)
    logs = np.zeros((draws.count, _VALVES))
    for one in tried:
        logs += _log_likelihood(one, shown, factors, _factor(one.turns, stems, power, own), model)
    weights, effective = _weights(logs, sum(len(one.gauges) for one in tried), model.zone.id)
    wanted = np.array([_crossing(row[:, 0], factors, target) for row in shown])
    turns = stems * (1 - (1 + np.nan_to_num(wanted)[:, None] / own) ** (-1 / power))
    yards = weights.sum(axis=1)
    at_target = np.array(
        [
            [np.interp(k, factors, column) for column in row[:, 3:].T]
            for k, row in zip(np.nan_to_num(wanted), shown, strict=True)
        ]
    )
    low, high = np.array(bands).T
    inside = np.all((at_target >= low) & (at_target <= high), axis=1)
    return Setting(
        target=target,
        window=_window(shown, yards, low, high),
        inside=float(yards[inside].sum()),
        reached=float(yards[np.isfinite(wanted)].sum()),
        turns=_quantiles(turns, weights),
        whole=_quantiles(np.broadcast_to(stems, weights.shape), weights),
        pressures=tuple(_quantiles(column, yards)[1] for column in at_target.T),
        effective=effective,
        yards=float(1 / (yards**2).sum()),
    )


def _solved(model: StartModel, draws: YardDraws) -> tuple[Floats, Floats]:
    """Control factors, rising from none, and what each yard shows under each (yards, factors, columns)."""
    least = model.pressure / model.zone.target**2
    factors = np.concatenate([[0.0], np.geomspace(1e-3, _GREATEST, _FACTORS) * least])
    faults = [Fault("valve not fully open", control=float(factor)) for factor in factors]
    return factors, np.stack([simulate(model, draws, [fault] * draws.count) for fault in faults], axis=1)


def _weights(logs: Floats, count: int, zone: str) -> tuple[Floats, float]:
    """Weights that add up to 1, and how many draws they amount to.

    Errors: InputError when the best draw misses the readings by far, or next to no draw comes as near as the best.
    """
    if -2 * logs.max() > _STRANGE**2 * count:
        raise InputError(
            f"the {count} readings of {zone} at its settings fit nothing that this plan would show: look for a slip in "
            "them, or diagnose its start-up first"
        )
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    effective = float(1 / (weights**2).sum())
    if effective < _LEAST_EFFECTIVE:
        raise InputError(
            f"the {count} readings of {zone} at its settings are finer than the valves drawn here can follow: write "
            "the errors that meter and gauge really have, or withdraw the oldest settings"
        )
    return weights, effective


def _valves(wide: float, seed: int) -> tuple[Floats, Floats, Floats]:
    """Stems' turns, exponents and wide open factors of drawn valves."""
    cube = stats.qmc.Sobol(3, scramble=True, rng=np.random.default_rng([seed, 5])).random(_VALVES)
    z = stats.norm.ppf(np.clip(cube, 1e-9, 1 - 1e-9))
    power = np.maximum(EXPONENT + EXPONENT_SPREAD * z[:, 1], 0.8)
    return TURNS * np.exp(TURNS_SPREAD * z[:, 0]), power, wide * np.exp(WIDE_SPREAD * z[:, 2])


def _factor(turns: float, stems: Floats, power: Floats, own: Floats) -> Floats:
    """Factor that each valve adds at so many turns; a stem cannot be turned beyond its end."""
    left = np.maximum(1 - turns / stems, 1e-3)
    return np.asarray(own * (left**-power - 1))


def _log_likelihood(one: Tried, shown: Floats, factors: Floats, added: Floats, model: StartModel) -> Floats:
    """Logarithm of the likelihood (yards, valves) of the readings at one setting."""
    columns = ("flow", "entry", "valve", *(head.id for head in model.zone.heads))
    total = np.zeros((len(shown), len(added)))
    for gauge in one.gauges:
        column = shown[:, :, columns.index(gauge.column)]
        foretold = np.array([np.interp(added, factors, row) for row in column])
        total -= 0.5 * ((foretold - gauge.value) / gauge.error) ** 2
    return total


def _crossing(falling: Floats, factors: Floats, value: float) -> float:
    """Factor at which a falling row has a value; not a number where even wide open it has less."""
    if falling[0] < value:
        return float("nan")
    return float(np.interp(-value, -falling, factors))


def _window(shown: Floats, yards: Floats, low: Floats, high: Floats) -> tuple[float, float]:
    """Flows between which every head is in its band, median over the yards."""
    least, most = np.empty(len(shown)), np.empty(len(shown))
    for row, state in enumerate(shown):
        flow, pressure = state[::-1, 0], state[::-1, 3:]  # rising
        least[row] = max(float(np.interp(a, p, flow)) for a, p in zip(low, pressure.T, strict=True))
        most[row] = min(float(np.interp(b, p, flow)) for b, p in zip(high, pressure.T, strict=True))
    return _quantiles(least, yards)[1], _quantiles(most, yards)[1]


def _quantiles(values: Floats, weights: Floats) -> Band:
    flat, share = values.ravel(), weights.ravel()
    order = np.argsort(flat)
    running = np.cumsum(share[order])
    rows = np.minimum(np.searchsorted(running, (0.05, 0.5, 0.95)), len(flat) - 1)
    low, median, high = (float(value) for value in flat[order][rows])
    return low, median, high
