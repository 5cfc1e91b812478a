"""Soil water formulas against handbook figures and against integration in small steps. Figures from memory."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.physics.soil import cycle_and_soak, depletion_share, ponding_time, runoff, stress

INCH = 0.0254


@pytest.mark.parametrize(("use", "share"), [(5e-3, 0.40), (7e-3, 0.32), (3e-3, 0.48), (0.0, 0.60), (15e-3, 0.10)])
def test_share_that_may_be_used(use, share):
    """FAO-56 table 22: p + 0.04 (5 - ETc), held within 0.1 and 0.8."""
    assert depletion_share(0.40, use=use) == pytest.approx(share)


def test_stress_begins_at_the_limit_and_ends_at_the_wilting_point():
    """FAO-56 figure 42."""
    assert stress(np.array([0.0, 9.0, 13.5, 18.0, 20.0]), available=18.0, share=0.5) == pytest.approx([1, 1, 0.5, 0, 0])


@pytest.mark.parametrize(("number", "inches"), [(65, 1.03), (75, 1.67), (80, 2.04), (90, 2.92), (95, 3.43)])
def test_runoff_of_four_inches(number, inches):
    """NRCS TR-55 table 2-1, row 4.0 in, printed to a hundredth of an inch."""
    assert runoff(4 * INCH, curve_number=number) / INCH == pytest.approx(inches, abs=0.006)


@given(st.floats(0, 0.3), st.floats(1, 100))
def test_no_more_runs_off_than_falls(rain, number):
    assert 0 <= runoff(rain, curve_number=number) <= rain


RATES = st.tuples(st.floats(1.1, 8.0), st.floats(1e-6, 1e-5), st.floats(0.05, 0.4), st.floats(0.02, 0.3))


@given(RATES)
def test_ponding_is_when_the_intake_of_green_and_ampt_falls_to_the_rate(drawn):
    """Green and Ampt: intake = K (1 + ψ n / F) after F has gone in; here stepped until it is the rate."""
    times, intake, suction, room = drawn
    rate = times * intake
    told = ponding_time(rate, intake=intake, suction=suction, room=room)
    step, taken, now = told / 4000, 0.0, 0.0
    while taken == 0 or intake * (1 + suction * room / taken) > rate:
        taken, now = taken + rate * step, now + step
        assert now < 2 * told
    assert now == pytest.approx(told, rel=1e-3)


def test_slow_water_never_stands():
    assert ponding_time(1e-6, intake=2e-6, suction=0.1, room=0.1) == math.inf
    assert cycle_and_soak(1e-6, intake=2e-6, suction=0.1, room=0.1) == (math.inf, 0.0)


@given(RATES)
def test_over_run_and_rest_the_soil_gets_its_last_intake(drawn):
    times, intake, suction, room = drawn
    run, rest = cycle_and_soak(times * intake, intake=intake, suction=suction, room=room)
    assert times * intake * run / (run + rest) == pytest.approx(intake)
