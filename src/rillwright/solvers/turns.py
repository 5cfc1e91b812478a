"""How many turns to set a zone valve's flow control to, learnt from what the zone did at the turns tried so far.

Statement. A plug that is screwed in by t of N turns leaves a passage in proportion to its lift, so that it takes

    loss / flow² = wide · ((1 - t/N)^-p - 1)

more than wide open, with p near 2. Turns N, exponent p and the valve's own factor wide are uncertain, and so is the
yard (supply, nozzles, fittings, heights). Each drawn yard is solved for a set of control factors once. A drawn valve
says under which factor each reading was taken; the yards' curves there have a mean and a covariance, so the readings
weigh the valve with the yard integrated out, and move the yards' curves by regression (Matheron's rule, from memory).
Valves are drawn where the readings put them, in tempered steps of importance sampling, however fine the readings are.
The turns at which the zone passes its target follow in each pair. Source: continuity and Bernoulli for the square; the
prior of N and p is judgement: makers' stems differ.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.solvers.certainty import YardDraws
from rillwright.solvers.startup import Fault, Gauge, StartModel, simulate
from rillwright.solvers.stems import Stems, learnt_stems

__all__ = ["Setting", "Tried", "set_turns"]

Floats = NDArray[np.float64]
Band = tuple[float, float, float]

_FACTORS = 28
_GREATEST = 40.0  # times what takes the whole pressure at the target flow
_PAIRS = 512  # of a valve and a yard, by which it is answered
_STRANGE = 4.0  # standard errors, on the mean, by which the readings may miss the best valve


@dataclass(frozen=True, slots=True)
class Tried:
    """Readings at one setting."""

    turns: float  # in from wide open
    gauges: tuple[Gauge, ...]
    error: float = 0.0  # [turns] standard


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
    strain: float  # standard errors by which the readings miss what the best valve shows in the yard as drawn
    effective: float  # effective number of drawn valves behind it


@dataclass(frozen=True, slots=True)
class _Readings:
    """All readings, flat."""

    turns: Floats  # (n,)
    off: Floats  # (n,) [turns] standard error of them
    setting: NDArray[np.intp]  # (n,) which were taken at the same turns
    columns: NDArray[np.intp]
    values: Floats
    errors: Floats


@dataclass(frozen=True, slots=True)
class _Curves:
    """What each drawn yard shows under each control factor."""

    factors: Floats  # (factors,) rising from none
    shown: Floats  # (yards, factors, columns)

    def at(self, added: Floats, columns: NDArray[np.intp]) -> Floats:
        """What the yards show (yards, valves, n) under factors (valves, n), one column each, by interpolation."""
        below = np.clip(np.searchsorted(self.factors, added) - 1, 0, len(self.factors) - 2)
        step = self.factors[below + 1] - self.factors[below]
        share = np.clip((added - self.factors[below]) / step, 0.0, 1.0)
        return np.asarray(self.shown[:, below, columns] * (1 - share) + self.shown[:, below + 1, columns] * share)


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
    Errors: InputError when the readings contradict everything drawn.
    """
    target = model.zone.target
    curves, read = _solved(model, draws), _flat(tried, model)
    stems = learnt_stems(lambda these: _likelihood(these, curves, read), wide=wide, seed=seed)
    count = len(read.values)
    if stems.least_miss > _STRANGE**2 * count:
        raise InputError(
            f"the {count} readings of {model.zone.id} at its settings fit nothing that this plan would show: look for "
            "a slip in them, or diagnose its start-up first"
        )
    valves, yards = _pairs(stems, curves, read, seed)
    factors = curves.factors
    wanted = np.array([_crossing(row[:, 0], factors, target) for row in yards])
    turns = valves.turns * (1 - (1 + np.nan_to_num(wanted) / valves.own) ** (-1 / valves.power))
    low, high = np.array(bands).T
    at_target = np.array(
        [
            [np.interp(k, factors, column) for column in row[:, 3:].T]
            for k, row in zip(np.nan_to_num(wanted), yards, strict=True)
        ]
    )
    return Setting(
        target=target,
        window=_window(yards, low, high),
        inside=float(np.all((at_target >= low) & (at_target <= high), axis=1).mean()),
        reached=float(np.isfinite(wanted).mean()),
        turns=_quantiles(turns),
        whole=_quantiles(valves.turns),
        pressures=tuple(_quantiles(column)[1] for column in at_target.T),
        strain=float(np.sqrt(stems.least_miss / count)) if count else 0.0,
        effective=stems.effective,
    )


def _solved(model: StartModel, draws: YardDraws) -> _Curves:
    least = model.pressure / model.zone.target**2
    factors = np.concatenate([[0.0], np.geomspace(1e-3, _GREATEST, _FACTORS) * least])
    faults = [Fault("valve not fully open", control=float(factor)) for factor in factors]
    return _Curves(factors, np.stack([simulate(model, draws, [fault] * draws.count) for fault in faults], axis=1))


def _flat(tried: Sequence[Tried], model: StartModel) -> _Readings:
    names = ("flow", "entry", "valve", *(head.id for head in model.zone.heads))
    rows = [
        (one.turns, one.error if one.turns > 0 else 0.0, number, names.index(g.column), g.value, g.error)
        for number, one in enumerate(tried)
        for g in one.gauges
    ]
    turns, off, setting, columns, values, errors = np.array(rows, dtype=float).reshape(-1, 6).T
    return _Readings(turns, off, setting.astype(np.intp), columns.astype(np.intp), values, errors)


def _likelihood(stems: Stems, curves: _Curves, read: _Readings) -> tuple[Floats, Floats]:
    """Logarithm of the likelihood of the readings, and their squared miss, for each valve (valves,)."""
    if not len(read.values):
        return np.zeros(stems.count), np.zeros(stems.count)
    shown = curves.at(stems.added(read.turns), read.columns)
    miss, covariance = read.values - shown.mean(axis=0), _covariance(shown, _slack(stems, curves, read), read)
    squared = np.einsum("vn,vn->v", miss, np.linalg.solve(covariance, miss[:, :, None])[:, :, 0])
    return -0.5 * (squared + np.linalg.slogdet(covariance)[1]), squared


def _slack(stems: Stems, curves: _Curves, read: _Readings) -> Floats:
    """How much a standard error of the turns moves each reading (valves, n), in the mean of the yards."""
    if not read.off.any():
        return np.zeros((stems.count, len(read.values)))
    less, more = (
        curves.at(stems.added(np.maximum(read.turns + way * read.off, 0.0)), read.columns).mean(axis=0)
        for way in (-1, 1)
    )
    return np.asarray((more - less) / 2)


def _covariance(shown: Floats, slack: Floats, read: _Readings) -> Floats:
    """Covariance over the yards of what is shown (valves, n, n), with the errors of readings and of turns."""
    off = np.moveaxis(shown - shown.mean(axis=0), 0, -1)
    turned = slack[:, :, None] * slack[:, None, :] * (read.setting[:, None] == read.setting)
    return np.asarray(off @ off.transpose(0, 2, 1) / (off.shape[-1] - 1) + turned + np.diag(read.errors**2))


def _pairs(stems: Stems, curves: _Curves, read: _Readings, seed: int) -> tuple[Stems, Floats]:
    """Valves by their weight, and beside each the curves of a yard as the readings move them (pairs, factors, columns).

    Matheron's rule: curve + covariance(curve, shown) · covariance(shown + error)^-1 · (reading + error - shown), the
    error that of the reading and of its turns.
    """
    dice = np.random.default_rng([seed, 6])
    chosen = np.searchsorted(np.cumsum(stems.weights), (np.arange(_PAIRS) + dice.random()) / _PAIRS)
    chosen = np.minimum(chosen, stems.count - 1)
    yards = dice.permutation(_PAIRS) % len(curves.shown)
    moved = curves.shown[yards].copy()
    if len(read.values):
        flat = curves.shown.reshape(len(curves.shown), -1)
        off = flat - flat.mean(axis=0)
        for valve in np.unique(chosen):
            own = np.flatnonzero(chosen == valve)
            stem = stems.take([valve])
            shown, slack = curves.at(stem.added(read.turns), read.columns), _slack(stem, curves, read)
            between = off.T @ (shown[:, 0] - shown[:, 0].mean(axis=0)) / (len(off) - 1)
            noise = read.errors * dice.standard_normal((len(own), len(read.errors)))
            turned = slack * dice.standard_normal((len(own), len(read.errors)))[:, read.setting]
            miss = read.values + noise + turned - shown[yards[own], 0]
            gain = np.linalg.solve(_covariance(shown, slack, read)[0], miss.T)
            moved[own] += (between @ gain).T.reshape(len(own), *moved.shape[1:])
    moved[:, :, 0] = np.minimum.accumulate(moved[:, :, 0], axis=1)
    return stems.take(chosen), moved


def _crossing(falling: Floats, factors: Floats, value: float) -> float:
    """Factor at which a falling row has a value; not a number where even wide open it has less."""
    if falling[0] < value:
        return float("nan")
    return float(np.interp(-value, -falling, factors))


def _window(shown: Floats, low: Floats, high: Floats) -> tuple[float, float]:
    """Flows between which every head is in its band, median over the yards."""
    least, most = np.empty(len(shown)), np.empty(len(shown))
    for row, state in enumerate(shown):
        flow, pressure = state[::-1, 0], np.maximum.accumulate(state[::-1, 3:], axis=0)  # rising
        least[row] = max(float(np.interp(a, p, flow)) for a, p in zip(low, pressure.T, strict=True))
        most[row] = min(float(np.interp(b, p, flow)) for b, p in zip(high, pressure.T, strict=True))
    return _quantiles(least)[1], _quantiles(most)[1]


def _quantiles(values: Floats) -> Band:
    low, median, high = (float(value) for value in np.quantile(values, (0.05, 0.5, 0.95)))
    return low, median, high
