"""Durations as PERT has them, and a crew's days walked through by hand.

PERT: low 2, likely 4, high 12 has mean 5.0, standard deviation 1.667, variance 2.778 (Malcolm and others 1959, from
memory, recomputed).
"""

import numpy as np
import pytest

from rillwright.model.guide import Estimate
from rillwright.solvers.guide.finish import draw_estimate
from rillwright.solvers.guide.walk import walk

GIVEN = Estimate(low=2, likely=4, high=12)
HOUR = 3600.0


def test_pert_in_three_points():
    assert GIVEN.mean == 5.0
    assert GIVEN.deviation == pytest.approx(1.667, abs=5e-4)
    assert GIVEN.deviation**2 == pytest.approx(2.778, abs=5e-4)


def test_drawn_durations_have_the_mean_and_the_variance_of_their_beta():
    """Beta with shapes 1 + 4·2/10 and 1 + 4·8/10 over 2..12: mean 5, variance (5-2)(12-5)/7 = 3; shapes add up to 6."""
    drawn = draw_estimate(GIVEN, rng=np.random.default_rng(1), draws=200_000)
    assert drawn.mean() == pytest.approx(5.0, abs=4 * 3**0.5 / 200_000**0.5)
    assert drawn.var() == pytest.approx(3.0, rel=0.02)
    assert drawn.min() > 2
    assert drawn.max() < 12
    assert set(draw_estimate(Estimate(low=3, likely=3, high=3), rng=np.random.default_rng(1), draws=5)) == {3.0}


def walked(order, durations, arcs=(), waits=None, rooms=(4, 4, 0, 4, 4), **more):
    before = np.concatenate(([0.0], np.cumsum(rooms)))[None, :] * HOUR
    return walk(
        order,
        durations={step: np.array([hours * HOUR]) for step, hours in durations.items()},
        arcs=list(arcs),
        waits={name: np.array([days]) for name, days in (waits or {}).items()},
        done=more.get("done", {}),
        mornings=frozenset(more.get("mornings", ())),
        before=before,
    )


def days(found):
    return {step: (int(found.first_day[step][0]), int(day[0])) for step, day in found.last_day.items()}


def test_steps_run_over_nights_and_days_off():
    """Four hours a day, day 2 off: 6 h fill day 0 and half of day 1, 4 h more end on day 3."""
    assert days(walked("ab", {"a": 6, "b": 4})) == {"a": (0, 1), "b": (1, 3)}


def test_a_wait_counts_days_off_too():
    """a ends on day 0; two days on is day 2, which is off, so b begins on day 3."""
    found = walked("ab", {"a": 1, "b": 1}, [("a", "b", "glue")], {"glue": 2})
    assert days(found) == {"a": (0, 0), "b": (3, 3)}


def test_a_step_that_is_done_still_makes_wait():
    found = walked("b", {"b": 1}, [("a", "b", "glue")], {"glue": 2}, done={"a": -1})
    assert days(found) == {"b": (1, 1)}
    assert days(walked("b", {"b": 1}, [("a", "b", "glue")], {"glue": 2}, done={"a": -9})) == {"b": (0, 0)}


def test_what_begins_in_the_morning_waits_for_one():
    assert days(walked("ab", {"a": 1, "b": 1}, mornings="b")) == {"a": (0, 0), "b": (1, 1)}
    assert days(walked("ab", {"a": 4, "b": 1}, mornings="b")) == {"a": (0, 0), "b": (1, 1)}


def test_a_calendar_that_is_too_short_is_told():
    assert walked("a", {"a": 15}).enough
    assert not walked("a", {"a": 17}).enough
