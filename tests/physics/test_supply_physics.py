import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from rillwright.errors import InputError
from rillwright.physics.supply import (
    bucket_flow,
    bucket_flow_error,
    flow_kept,
    open_outlet_flow,
    open_outlet_loss,
    residual_pressure,
    service_line_loss,
)
from rillwright.physics.units import GALLON, GPM, PSI


def test_five_gallons_in_nine_and_a_half_seconds():
    """Arithmetic: 5 gal · 60 / 9.5 s = 31.58 gpm. Common practice, no source."""
    assert bucket_flow(5 * GALLON, seconds=9.5) / GPM == pytest.approx(31.58, abs=0.005)


def test_seconds_lost_at_the_start_count():
    """13.7 s on the clock, 4 s of them dry, is just over 30 gpm; without the delay it would look like 21.9."""
    assert bucket_flow(5 * GALLON, seconds=13.7, start_delay=4.0) / GPM == pytest.approx(300 / 9.7, rel=1e-12)
    assert bucket_flow(5 * GALLON, seconds=13.7) / GPM == pytest.approx(300 / 13.7, rel=1e-12)


@pytest.mark.parametrize(("seconds", "delay"), [(4.0, 4.0), (3.0, 4.0), (0.0, 0.0)])
def test_a_fill_without_filling_time_is_refused(seconds, delay):
    with pytest.raises(InputError, match="leaves no time to fill"):
        bucket_flow(5 * GALLON, seconds=seconds, start_delay=delay)


@pytest.mark.parametrize("delay", [0.0, 4.0])
def test_flow_error_agrees_with_simulated_fills(delay):
    """Oracle: simulation. First-order propagation is good to a few percent at these errors."""
    rng = np.random.default_rng(3)
    count, repeats, filling = 200_000, 3, 9.5
    volume = 0.019 * (1 + 0.03 * rng.standard_normal(count))
    shift = (0.5 if delay else 0.0) * rng.standard_normal(count)
    clock = delay + filling + 0.3 * rng.standard_normal((repeats, count)).mean(axis=0)
    flows = volume / (clock - delay - shift)
    ours = bucket_flow_error(
        0.019,
        seconds=delay + filling,
        start_delay=delay,
        repeats=repeats,
        volume_error=0.03,
        time_error=0.3,
        start_delay_error=0.5 if delay else 0.0,
    )
    assert ours == pytest.approx(np.std(flows), rel=0.02)


def test_repeats_do_not_make_the_mark_better():
    once = {"seconds": 9.5, "volume_error": 0.03, "time_error": 0.3}
    many = bucket_flow_error(0.019, repeats=10_000, **once)
    assert bucket_flow_error(0.019, repeats=1, **once) > many > 0.03 * 0.019 / 9.5


@given(
    head=st.floats(1e3, 1e6),
    loss=st.floats(1e2, 1e7),
    exponent=st.floats(1.7, 2.05),
    outlet=st.floats(0.0, 1e12),
)
def test_open_flow_uses_up_all_the_pressure(head, loss, exponent, outlet):
    """Oracle: scipy's bracketing root finder on the same energy equation."""
    ours = open_outlet_flow(
        np.array([head]),
        loss=np.array([loss]),
        reference_flow=1e-3,
        exponent=np.array([exponent]),
        outlet_factor=np.array([outlet]),
    )[0]
    root = brentq(lambda q: loss * (q / 1e-3) ** exponent + outlet * q * q - head, 0.0, 10.0, xtol=1e-15, rtol=1e-12)
    assert ours == pytest.approx(root, rel=1e-8)


def test_an_outlet_above_the_reach_of_the_pressure_runs_dry():
    one = np.ones(2)
    flow = open_outlet_flow(
        np.array([-1e4, 1e4]), loss=1e5 * one, reference_flow=1e-3, exponent=1.9 * one, outlet_factor=0 * one
    )
    assert flow[0] == 0
    assert flow[1] > 0


def test_a_narrow_outlet_takes_more():
    wide, narrow = (open_outlet_loss(0.001, bore=bore, loss_factor=1.5) for bore in (0.026, 0.013))
    assert narrow == pytest.approx(16 * wide, rel=1e-12)  # velocity head goes with bore^-4


def test_an_outlet_cannot_lose_less_than_its_jet():
    with pytest.raises(InputError, match="at least one velocity head"):
        open_outlet_loss(0.001, bore=0.02, loss_factor=0.5)


@given(st.floats(0.0, 1.0), st.floats(1.7, 2.05))
def test_flow_kept_undoes_residual_pressure(share, exponent):
    terms = {"static": 60 * PSI, "open_flow": 30 * GPM, "exponent": exponent}
    left = residual_pressure(share * 30 * GPM, **terms)
    assert flow_kept(left, **terms) == pytest.approx(share * 30 * GPM, abs=1e-9)


def test_no_flow_keeps_more_than_static():
    with pytest.raises(InputError, match="static pressure"):
        flow_kept(61 * PSI, static=60 * PSI, open_flow=30 * GPM)


def test_no_flow_loses_nothing_and_parts_add_up():
    pipe = {"bore": 0.0266, "roughness": 1.5e-6}
    assert service_line_loss(0.0, length=20.0, fittings=10.0, meter_factor=1e10, **pipe) == 0
    whole = service_line_loss(0.001, length=20.0, fittings=10.0, meter_factor=1e10, **pipe)
    parts = (
        service_line_loss(0.001, length=20.0, **pipe)
        + service_line_loss(0.001, length=0.0, fittings=10.0, **pipe)
        + 1e10 * 0.001**2
    )
    assert whole == pytest.approx(parts, rel=1e-12)
