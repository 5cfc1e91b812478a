"""The verdict of a leak watch, the rate with its band, the parts of the fall, and how long to watch on."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.leak.watch import (
    AIR,
    AIR_SPREAD,
    HOURLY_LITRE,
    RATES,
    Evidence,
    Look,
    Run,
    Watch,
    longer,
    pressures,
    weigh_watch,
)

__all__ = ["MATTERS", "LeakFound", "Share", "Verdict", "chances", "judge_watch"]

Floats = NDArray[np.float64]
Verdict = Literal["tight", "leaking", "too short to tell"]

MATTERS = 0.1 * HOURLY_LITRE  # [m³/s] a drop every two seconds; judgement
SURE = 0.95  # chance from which a verdict is given
TIGHT_BEFORE = 0.5  # chance that new pipework is tight, before anybody watched; judgement
_LONGEST = 48 * 3600.0  # [s]
_MORE = 3  # looks foreseen in a longer watch
_FACTORS = (1.5, 2.0, 3.0, 5.0, 8.0, 16.0, 48.0)  # of the watch so far
_SPENT = 0.1  # share of the start pressure under which a longer watch shows no more


@dataclass(frozen=True, slots=True)
class Share:
    """One part of the pressure's fall [Pa], above 0 where it takes pressure away."""

    cause: Literal["water temperature", "pipe stretching on", "leakage"]
    fall: float


@dataclass(frozen=True, slots=True)
class LeakFound:
    """What a leak watch says."""

    verdict: Verdict
    chance: float  # that the leak is one that matters
    rate: tuple[float, float, float]  # [m³/s] at the start pressure: 5 %, 50 % and 95 % quantile
    fall: float  # [Pa] shown from first look to last
    shares: tuple[Share, ...]  # of the fall, at the likeliest rate of the verdict's side
    air: float  # [-] trapped air as a share of the volume, likeliest
    watch_until: float | None  # [s] after the start, when the verdict is to be expected; None when given, or never


def chances(log_evidence: Floats) -> Floats:
    """Chances of RATES: TIGHT_BEFORE for none, the rest alike for each tenfold, weighed by the evidence."""
    prior = np.full(len(RATES), (1 - TIGHT_BEFORE) / (len(RATES) - 1))
    prior[0] = TIGHT_BEFORE
    weight = np.exp(log_evidence - log_evidence.max()) * prior
    return np.asarray(weight / weight.sum())


def judge_watch(watch: Watch, evidence: Evidence | None = None) -> LeakFound:
    """Judge a watch: tight or leaking when one of them is surer than SURE, else how long to watch on.

    Parameters: evidence, from weigh_watch, where it is at hand.
    """
    evidence = weigh_watch(watch) if evidence is None else evidence
    share = chances(evidence.log)
    matters = float(share[RATES > MATTERS].sum())
    verdict = _verdict(matters)
    best = int(np.argmax(np.where((RATES > MATTERS) == (matters > 0.5), share, 0.0)))
    return LeakFound(
        verdict=verdict,
        chance=matters,
        rate=_band(share),
        fall=watch.looks[0].pressure - watch.looks[-1].pressure,
        shares=_shares(watch, evidence, best),
        air=float(AIR * np.exp(AIR_SPREAD * evidence.best[best, 0])),
        watch_until=_until(watch, evidence, best) if verdict == "too short to tell" else None,
    )


def _verdict(matters: float) -> Verdict:
    if matters >= SURE:
        return "leaking"
    return "tight" if matters <= 1 - SURE else "too short to tell"


def _band(share: Floats) -> tuple[float, float, float]:
    running = np.cumsum(share)
    low, median, high = (float(RATES[np.searchsorted(running, q)]) for q in (0.05, 0.5, 0.95))
    return low, median, high


def _shares(watch: Watch, evidence: Evidence, best: int) -> tuple[Share, ...]:
    """Part the fall by taking one cause after another out of the forecast at the best fit."""
    z, rate = evidence.best[best : best + 1], RATES[best : best + 1]
    full, dry, warm = (
        float(pressures(watch, z, rate, run)[0, -1]) for run in (Run(), Run(leak=False), Run(leak=False, creep=False))
    )
    start = float(pressures(watch, z, rate)[0, 0])
    return (
        Share("water temperature", start - warm),
        Share("pipe stretching on", warm - dry),
        Share("leakage", dry - full),
    )


def _until(watch: Watch, evidence: Evidence, best: int) -> float | None:
    """Least time after the start at which looks as foreseen by the best fit would give a verdict."""
    begin, last = watch.looks[0].after, watch.looks[-1].after
    z, rate = evidence.best[best : best + 1], RATES[best : best + 1]
    span = max(last - begin, 60.0)
    if watch.looks[-1].pressure < _SPENT * watch.looks[0].pressure:
        return None
    for factor in _FACTORS:
        end = begin + factor * span
        if end - begin > _LONGEST:
            break
        times = np.linspace(last, end, _MORE + 1)[1:]
        water = watch.looks[-1].water
        ahead = longer(watch, [Look(float(t), 0.0, water) for t in times])
        shown = pressures(ahead, z, rate)[0, -_MORE:]
        foreseen = longer(watch, [Look(float(t), float(p), water) for t, p in zip(times, shown, strict=True)])
        matters = float(chances(weigh_watch(foreseen).log)[RATES > MATTERS].sum())
        if _verdict(matters) != "too short to tell":
            return float(end)
    return None
