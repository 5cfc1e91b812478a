"""The pump curve's fit against curves it must give back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.errors import InputError
from rillwright.physics.pumps import fit_falling_curve


@given(st.floats(1e5, 1e6), st.floats(0.2, 0.95), st.floats(1.1, 3.5), st.integers(3, 8))
def test_points_of_a_curve_give_the_curve_back(shutoff, share, exponent, count):
    flows = np.linspace(0.0, 2e-3, count)
    factor = share * shutoff / 2e-3**exponent
    pressures = shutoff - factor * flows**exponent
    fit = fit_falling_curve(flows[::-1], pressures[::-1])
    assert fit[0] - fit[1] * flows ** fit[2] == pytest.approx(pressures, abs=1e-4 * shutoff)


def test_two_points_give_a_parabola():
    shutoff, factor, exponent = fit_falling_curve([1e-3, 2e-3], [2.8e5, 2.2e5])
    assert (shutoff, factor, exponent) == (pytest.approx(3e5), pytest.approx(2e10), 2.0)


@pytest.mark.parametrize(
    ("flows", "pressures", "says"),
    [
        ([0.0], [3e5], "two points"),
        ([0.0, 1e-3], [3e5], "two points"),
        ([0.0, 1e-3], [3e5, 3e5], "must fall"),
        ([0.0, 0.0], [3e5, 2e5], "must fall"),
        ([-1e-3, 1e-3], [3e5, 2e5], "must fall"),
        ([0.0, 1e-3], [float("nan"), 2e5], "must fall"),
    ],
)
def test_points_that_are_no_pump_curve_are_refused(flows, pressures, says):
    with pytest.raises(InputError, match=says):
        fit_falling_curve(flows, pressures)
