"""A crew that does its steps in one order, over many drawn calendars and durations at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Arc", "Walked", "walk"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Arc = tuple[str, str, str]  # from, to, name of the wait between; '' when there is none

_JOT = 1e-6  # [s]


@dataclass(frozen=True, slots=True)
class Walked:
    """When each step of each draw begins and ends; by step, over the draws."""

    begins: Mapping[str, Floats]  # [s] on the clock of work
    first_day: Mapping[str, Ints]
    last_day: Mapping[str, Ints]
    enough: bool  # whether every draw ends within its calendar

    @property
    def last(self) -> Ints:
        """Day on which the whole ends."""
        last: Ints = np.max(np.array(list(self.last_day.values())), axis=0)
        return last


def walk(
    order: Sequence[str],
    *,
    durations: Mapping[str, Floats],
    arcs: Sequence[Arc],
    waits: Mapping[str, Ints],
    done: Mapping[str, int],
    mornings: frozenset[str],
    before: Floats,
) -> Walked:
    """Do the steps one after another, each as soon as what it waits for has passed.

    Parameters: order of the steps; durations [s] by step, over the draws; arcs into them from steps earlier in the
    order or done; waits [days] by name, over the draws; done, the day (0 is the first) on which each done step ended;
    mornings, steps that begin with a work day; before, work [s] that the days before each have room for
    (draws, days + 1). A step may run over nights and days off.
    """
    draws = len(before)
    rows = np.arange(draws)
    free = np.zeros(draws)
    begins: dict[str, Floats] = {}
    first_day: dict[str, Ints] = {}
    last_day: dict[str, Ints] = {step: np.full(draws, day, dtype=np.int64) for step, day in done.items()}
    days = before.shape[1] - 1
    for step in order:
        at = free
        for first, _, wait in (arc for arc in arcs if arc[1] == step and arc[2]):
            ready = np.clip(last_day[first] + waits[wait], 0, days)
            at = np.maximum(at, before[rows, ready])
        today = _day(before, at)
        if step in mornings:
            begun = at > before[rows, today] + _JOT
            at = np.where(begun, before[rows, np.minimum(today + 1, days)], at)
            today = _day(before, at)
        free = at + durations[step]
        begins[step], first_day[step] = at, today
        last_day[step] = np.maximum((before[:, 1:] < free[:, None] - _JOT).sum(axis=1), today)
    enough = bool((free <= before[:, -1] - _JOT).all())
    return Walked(begins, first_day, {step: last_day[step] for step in order}, enough)


def _day(before: Floats, at: Floats) -> Ints:
    """The work day in which each point on the clock of work lies."""
    today: Ints = np.minimum((before[:, 1:] <= at[:, None] + _JOT).sum(axis=1), before.shape[1] - 2)
    return today
