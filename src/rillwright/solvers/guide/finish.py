"""The finish as a band: rates, waits and weather drawn many times, and the crew's order walked through each draw.

What one metre, one head or one fitting takes is drawn once for the whole job: who is slow at one trench is slow at
all, so that errors do not cancel as they would between unrelated steps. Durations follow the beta distribution that
PERT assumes, with the mean (low + 4 likely + high) / 6: shape parameters 1 + 4 (likely - low) / (high - low) and
1 + 4 (high - likely) / (high - low). Its variance is (mean - low)(high - mean) / 7, which is PERT's ((high - low) / 6)²
only near the middle (Malcolm and others 1959; Clark, "The PERT model for the distribution of an activity time",
Operations Research 10 (1962) 405-406; both from memory). Weather takes whole days, each by itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.model.guide import Estimate, Step
from rillwright.solvers.guide.calendar import Calendar
from rillwright.solvers.guide.walk import Arc, Floats, Ints, Walked, walk

__all__ = ["SAMPLES", "Finish", "draw_estimate", "sample_finish"]

SAMPLES = 2000
CHANCES = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True)
class Finish:
    """Days from the start on which so many of the draws are done."""

    early: int
    middle: int
    late: int
    by_plan: float  # share of the draws that are done by the planned day
    block_days: tuple[int, int] | None  # days of the rented block, 10 and 90 % of the draws
    enough: bool  # whether every draw ended within the calendar


def draw_estimate(estimate: Estimate, *, rng: np.random.Generator, draws: int) -> Floats:
    """Draw a duration, in the unit of its estimate (draws,)."""
    low, likely, high = estimate.low, estimate.likely, estimate.high
    if high <= low:
        return np.full(draws, likely)
    first, second = (1 + 4 * gap / (high - low) for gap in (likely - low, high - likely))
    return low + (high - low) * rng.beta(first, second, draws)


def sample_finish(
    order: Sequence[str],
    *,
    steps: Mapping[str, Step],
    left: Mapping[str, float],
    arcs: Sequence[Arc],
    done: Mapping[str, int],
    mornings: frozenset[str],
    block: Sequence[str],
    crew: int,
    planned: int,
    calendar: Calendar,
    seed: int,
    draws: int = SAMPLES,
) -> Finish:
    """Draw the finish.

    Parameters: order of the steps still to go; steps by id; left, share of each that is still to go; arcs, done,
    mornings as for `walk`; block, steps of the rented machine in their order; crew; planned, day on which it ends
    at mean times; calendar; seed; draws.
    """
    rng = np.random.default_rng(seed)
    rates: dict[tuple[str, str, str], Floats] = {}
    waits: dict[str, Ints] = {}
    for step in steps.values():
        for work in step.work:
            rates.setdefault((step.kind, work.per, work.ground), draw_estimate(work.each, rng=rng, draws=draws))
        for after in step.after:
            if after.wait is not None and after.wait.name not in waits:
                drawn = draw_estimate(after.wait.days, rng=rng, draws=draws)
                waits[after.wait.name] = np.rint(drawn).astype(np.int64)
    durations = {name: left[name] * _duration(steps[name], rates, crew, draws) for name in order}
    lost = rng.random((draws, len(calendar.room))) < calendar.lost
    room = np.where(lost, 0.0, calendar.room)
    before = np.concatenate((np.zeros((draws, 1)), np.cumsum(room, axis=1)), axis=1)
    walked = walk(order, durations=durations, arcs=arcs, waits=waits, done=done, mornings=mornings, before=before)
    early, middle, late = (_quantile(walked.last, chance) for chance in CHANCES)
    by_plan = float((walked.last <= planned).mean())
    return Finish(early, middle, late, by_plan, _block(walked, block), walked.enough)


def _duration(step: Step, rates: Mapping[tuple[str, str, str], Floats], crew: int, draws: int) -> Floats:
    labour = np.zeros(draws)
    for work in step.work:
        labour = labour + work.quantity * rates[step.kind, work.per, work.ground]
    return labour / step.people(crew)


def _block(walked: Walked, block: Sequence[str]) -> tuple[int, int] | None:
    if not block:
        return None
    days = walked.last_day[block[-1]] - walked.first_day[block[0]] + 1
    return _quantile(days, CHANCES[0]), _quantile(days, CHANCES[2])


def _quantile(values: NDArray[np.int64], chance: float) -> int:
    """The least value that so large a share of the draws does not exceed."""
    return int(np.quantile(values, chance, method="inverted_cdf"))
