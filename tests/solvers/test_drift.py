"""Drift with an exact band: against counting by hand, a general library, and drawn readings."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from rillwright.solvers.drift import drift_of, kendall_counts


@pytest.mark.parametrize("number", range(1, 7))
def test_orders_counted_one_by_one(number):
    counted = [0] * (number * (number - 1) // 2 + 1)
    for order in itertools.permutations(range(number)):
        counted[sum(a > b for a, b in itertools.combinations(order, 2))] += 1
    assert kendall_counts(number) == counted
    assert sum(counted) == math.factorial(number)


@pytest.mark.parametrize("number", [4, 5, 6, 8, 12])
def test_against_the_slope_of_scipy(number):
    """scipy.stats.theilslopes takes the normal limit of Kendall's distribution; from six readings on both agree."""
    values = 0.3 * np.arange(number) + np.random.default_rng(number).normal(0, 1, number)
    ours = drift_of(list(range(number)), list(values))
    theirs = stats.theilslopes(values, np.arange(number), 0.9)
    assert ours.slope == pytest.approx(theirs.slope)
    if number >= 6:
        assert (ours.low, ours.high) == (pytest.approx(theirs.low_slope), pytest.approx(theirs.high_slope))


@pytest.mark.parametrize("number", [3, 4, 5, 7, 10])
def test_the_band_holds_as_often_as_it_says(number):
    dice, inside, held = np.random.default_rng(3), 0, 0.0
    for _ in range(1500):
        values = 0.3 * np.arange(number) + dice.standard_t(3, number)  # with wild readings among them
        found = drift_of(list(range(number)), list(values))
        inside += found.low <= 0.3 <= found.high
        held = found.held
    assert inside / 1500 == pytest.approx(held, abs=4 * math.sqrt(held * (1 - held) / 1500))


def test_few_seasons_say_how_little_they_tell():
    assert drift_of([2030], [1.0]) is None
    assert drift_of([2030, 2031], [1.0, 2.0]).held == 0.0
    three = drift_of([2030, 2031, 2032], [1.0, 2.0, 3.0])
    assert three.held == pytest.approx(2 / 3)
    assert not three.sure
    four = drift_of([2030, 2031, 2032, 2033], [1.0, 2.0, 3.1, 4.0])
    assert four.held == pytest.approx(1 - 2 / 24)
    assert four.sure


@given(st.lists(st.floats(-50, 50), min_size=5, max_size=9), st.floats(-3, 3))
def test_one_wild_reading_moves_it_little_and_a_trend_shifts_it_whole(values, trend):
    times = list(range(len(values)))
    plain = drift_of(times, values)
    tilted = drift_of(times, [v + trend * t for t, v in zip(times, values, strict=True)])
    assert tilted.slope == pytest.approx(plain.slope + trend, abs=1e-9)
    assert plain.low <= plain.slope <= plain.high
    line = drift_of(times, [2.0 * t for t in times[:-1]] + [1e6])
    assert line.slope == pytest.approx(2.0)
