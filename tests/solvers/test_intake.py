"""A ring's readings: the curve found again, the rate, and when water stands."""

import math

import numpy as np
import pytest
from scipy import integrate, optimize

from rillwright.solvers.intake import PLACES, ring_intake

# Kostiakov F = k t^a, F in inches and t in minutes, as intake families are tabled: a = 0.6, k = 0.05; invented soil
A, K_MINUTES = 0.6, 0.05
K = K_MINUTES * 0.0254 / 60**A
TIMES = [60.0 * minute for minute in (2, 5, 10, 20, 40, 60)]


def test_an_exact_curve_is_found_again():
    found = ring_intake(TIMES, [K * t**A for t in TIMES], error=1e-3)
    assert found.power == pytest.approx(A, rel=1e-6)
    assert found.factor == pytest.approx(K, rel=1e-5)
    assert found.rate == pytest.approx(A * K * 3600 ** (A - 1), rel=1e-6)
    assert found.misfit < 1e-8


def test_two_readings_are_met_exactly():
    """Kostiakov by two points, arithmetic: a = ln(F2/F1) / ln(t2/t1)."""
    found = ring_intake([0, 300, 1800], [0, 0.012, 0.04], error=1e-3)
    assert found.power == pytest.approx(math.log(0.04 / 0.012) / math.log(6), rel=1e-6)


def test_the_band_holds_the_truth_in_nine_of_ten_rings():
    """Many rings on a lawn whose rings differ by the stated spread, each look in error by 1 mm."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(300):
        ring = K * math.exp(PLACES * rng.standard_normal())
        depths = np.maximum.accumulate(np.maximum([ring * t**A for t in TIMES] + 1e-3 * rng.standard_normal(6), 1e-5))
        low, _, high = ring_intake(TIMES, list(depths), error=1e-3).band
        held += low <= A * K * TIMES[-1] ** (A - 1) <= high
    assert 0.84 <= held / 300 <= 0.96  # 0.9 with the sampling error of 300


def test_water_stands_when_the_curve_in_depth_falls_to_the_rain():
    """Against an independent formulation: integrate dF/dt = min(rain, i(F)) and find where it leaves the rain."""
    found = ring_intake(TIMES, [K * t**A for t in TIMES], error=1e-3)
    rain = 3 * found.rate

    def intake(depth):
        return A * K * (depth / K) ** (1 - 1 / A)

    depth = optimize.brentq(lambda f: intake(f) - rain, 1e-6, 1.0)
    stands = found.stands_after(rain)
    assert rain * stands == pytest.approx(depth, rel=1e-6)
    span, begun = (1e-3, 2 * stands), [rain * 1e-3]
    run = integrate.solve_ivp(lambda _t, f: [min(rain, intake(f[0]))], span, begun, max_step=stands / 50)
    assert run.y[0, -1] < 0.999 * rain * 2 * stands
    before = np.searchsorted(run.t, 0.95 * stands)
    assert run.y[0, before] == pytest.approx(rain * run.t[before], rel=1e-6)


def test_a_soil_that_does_not_slow_takes_a_rain_for_ever_or_never():
    found = ring_intake([600, 1200, 1800], [0.01, 0.02, 0.03], error=1e-4)
    assert found.power == pytest.approx(1.0, abs=1e-4)
    assert found.stands_after(0.5 * found.rate) > 3600


def test_lighter_rain_stands_later():
    found = ring_intake(TIMES, [K * t**A for t in TIMES], error=1e-3)
    times = [found.stands_after(rate * found.rate) for rate in (5, 2, 1, 0.5)]
    assert times == sorted(times)
    assert found.stands_after(0) == math.inf
