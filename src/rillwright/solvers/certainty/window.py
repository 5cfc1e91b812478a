"""Whether a week's water fits into the hours that may be used.

    run of a zone  = depth · exposure · multiplier(DU) / (rate on the lawn · share that lands)        [s a week]
    span of a zone = what it puts on in a night / soil intake, where its rate is more than the intake   [s a night]
    needed         = greatest of: sum of the runs; nights · longest span                                [s a week]

One zone runs at a time. A zone whose water goes on faster than the soil takes it in is watered in short cycles; others
run in its pauses, and only where one zone's cycles and pauses span the whole night do they bind.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.model.site import Watering
from rillwright.physics.evenness import run_time_multiplier
from rillwright.solvers.certainty.draws import YardDraws
from rillwright.solvers.certainty.spreads import AIR_LOSS

__all__ = ["Turn", "WindowDraws", "usual_week", "window_draws"]

Floats = NDArray[np.float64]

_LEAST_RATE = 1e-9  # [m/s] stands for 'no water comes'


@dataclass(frozen=True, slots=True)
class Turn:
    """One zone's part in the night."""

    zone: str
    rate: Floats  # (n,) [m/s] that falls on its lawn, before what the air takes
    uniformity: Floats  # (n,) [0..1] DU of the lawns it waters
    exposure: float  # [-] share of the full need
    intake: float | None  # [m/s] of the soil there


@dataclass(frozen=True, slots=True)
class WindowDraws:
    """The week in every draw."""

    depth: Floats  # (n,) [m] a week in full sun
    runs: dict[str, Floats]  # (n,) [s] a week, by zone
    needed: Floats  # (n,) [s] a week


def window_draws(turns: Sequence[Turn], *, watering: Watering, draws: YardDraws) -> WindowDraws:
    """Run times of every zone in every draw, and the hours that they need together."""
    depth = watering.peak_need * np.maximum(1 + watering.peak_need_error * draws.need, 0.2)
    return _week(turns, depth, draws.landing, draws.intake)


def usual_week(turns: Sequence[Turn], *, watering: Watering) -> WindowDraws:
    """The same in one usual week: every uncertain thing at its middle. Turns hold one value each."""
    one = np.ones(1)
    return _week(turns, watering.peak_need * one, (1 - AIR_LOSS) * one, one)


def _week(turns: Sequence[Turn], depth: Floats, landing: Floats, intake: Floats) -> WindowDraws:
    runs: dict[str, Floats] = {}
    longest = np.zeros(len(depth))
    for turn in turns:
        uniformity = np.clip(turn.uniformity, 0.2, 1.0)
        rate = np.maximum(turn.rate * landing, _LEAST_RATE)
        gross = depth * turn.exposure * np.array([run_time_multiplier(u) for u in uniformity])
        runs[turn.zone] = gross / rate
        if turn.intake is not None:
            takes = turn.intake * intake
            span = np.where(rate > takes, gross / takes, runs[turn.zone])
            longest = np.maximum(longest, span)
    total = np.sum(list(runs.values()), axis=0) if runs else np.zeros(len(depth))
    return WindowDraws(depth, runs, np.maximum(total, longest))
