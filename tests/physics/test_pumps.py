"""The pump curve's fit against curves it must give back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.errors import InputError
from rillwright.physics.pumps import cycle_times, fit_falling_curve, tank_drawdown
from rillwright.physics.units import PSI


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


@pytest.mark.parametrize(("cut_in", "cut_out", "factor"), [(20, 40, 0.37), (30, 50, 0.31), (40, 60, 0.27)])
def test_tanks_give_what_their_makers_tables_say(cut_in, cut_out, factor):
    """Drawdown factors of captive-air tanks charged to cut-in, by switch setting in psi (trade tables, from memory)."""
    drawn = tank_drawdown(1.0, precharge=cut_in * PSI, cut_in=cut_in * PSI, cut_out=cut_out * PSI)
    assert drawn == pytest.approx(factor, abs=0.005)
    assert tank_drawdown(1.0, precharge=(cut_in - 2) * PSI, cut_in=cut_in * PSI, cut_out=cut_out * PSI) < drawn


@pytest.mark.parametrize("flow", [1e-4, 4e-4, 5e-4, 9e-4])
def test_a_tank_simulated_second_by_second_cycles_so(flow):
    pump, drawdown, step = 1e-3, 0.02, 0.01
    store, running, starts, clock = drawdown, False, 0, 0.0
    while clock < 7200:
        store += step * ((pump if running else 0.0) - flow)
        if store <= 0 and not running:
            running, starts = True, starts + 1
        elif store >= drawdown:
            running = False
        clock += step
    runs, rests = cycle_times(flow, pump_flow=pump, drawdown=drawdown)
    assert starts == pytest.approx(7200 / (runs + rests), abs=1)


def test_pumps_start_most_often_at_half_their_flow():
    def per_hour(share):
        return 3600 / sum(cycle_times(share * 1e-3, pump_flow=1e-3, drawdown=0.02))

    assert per_hour(0.5) == pytest.approx(900 * 1e-3 / 0.02)
    assert all(per_hour(0.5) > per_hour(share) for share in (0.1, 0.3, 0.49, 0.51, 0.8, 0.99))
    assert per_hour(0.3) == pytest.approx(per_hour(0.7))


def test_impossible_cycles_are_refused():
    for flow in (0.0, 1e-3, 2e-3):
        with pytest.raises(InputError, match="cycles only"):
            cycle_times(flow, pump_flow=1e-3, drawdown=0.02)
    with pytest.raises(InputError, match="lower pressure"):
        tank_drawdown(0.1, precharge=1e5, cut_in=3e5, cut_out=2e5)
