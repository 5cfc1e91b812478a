"""A body of water in cold air: against a fine numerical run, another correlation, and by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.errors import InputError
from rillwright.physics import freezing
from rillwright.physics.freezing_kernels import ice_through, step_body
from rillwright.physics.frost import LATENT_HEAT, MELTING

K, C, M = 0.8, 1600.0, 0.25


@given(st.floats(-1.5, 1.5), st.floats(-15, 15), st.floats(10, 20_000))
def test_a_long_step_is_many_short_ones(start, air, seconds):
    heat = start * M * LATENT_HEAT
    one = step_body(heat, MELTING + air, seconds, K, C, M)
    many = heat
    for _ in range(50):
        many = step_body(many, MELTING + air, seconds / 50, K, C, M)
    assert one == pytest.approx(many, rel=1e-6, abs=1e-3)


def test_against_an_enthalpy_run_in_small_steps():
    """Explicit Euler on the enthalpy: below it ice, over it water, between them both at the melting point."""
    air = MELTING + 6 * np.cos(np.linspace(0, 9, 400)) - 2
    seconds, fusion = 900.0, M * LATENT_HEAT
    heat, shares = 5.0 * C, []
    for outside in air:
        for _ in range(300):
            warm = heat / C if heat > 0 else (heat + fusion) / C if heat < -fusion else 0.0
            heat += seconds / 300 * K * (outside - MELTING - warm)
        shares.append(min(max(-heat / fusion, 0.0), 1.0))
    ours = ice_through(air, MELTING + 5.0, seconds, K, C, M)
    assert ours == pytest.approx(np.array(shares), abs=0.005)
    assert 0.2 < ours.max() <= 1.0


def test_cooling_by_hand():
    """Ten kelvins over melting into air five under it: ln 3 time constants, then K · 5 K freezes it."""
    seconds = C / K * np.log(3.0)
    assert step_body(10 * C, MELTING - 5, seconds, K, C, M) == pytest.approx(0.0, abs=1e-6)
    after = step_body(10 * C, MELTING - 5, seconds + 1000.0, K, C, M)
    assert after == pytest.approx(-K * 5 * 1000.0, rel=1e-9)


def test_churchill_and_bernstein_against_hilpert():
    """Hilpert 1933, from memory: Nu = 0.683 Re^0.466 Pr^(1/3) from 40 to 4,000, 0.193 Re^0.618 up to 40,000."""
    for wind, diameter, scale, power in ((0.5, 0.06, 0.683, 0.466), (3.0, 0.08, 0.193, 0.618)):
        reynolds = wind * diameter / 1.33e-5
        theirs = scale * reynolds**power * 0.711 ** (1 / 3) * 0.0243 / diameter
        assert freezing.crossflow_coefficient(wind, diameter=diameter) == pytest.approx(theirs, rel=0.2)
    with pytest.raises(InputError):
        freezing.crossflow_coefficient(0.0, diameter=0.06)


def test_ice_swells_by_a_twelfth():
    """Handbook, from memory: water 999.84 and ice 916.7 kg/m³ at 0 °C."""
    assert pytest.approx(999.84 / 916.7 - 1, abs=5e-5) == freezing.FREEZING_EXPANSION
    assert freezing.bursting_share(2 * 1.2e6, give=4.9e-10) == pytest.approx(2.4e6 * 4.9e-10 / 0.0907)


def test_days_meet_their_extremes_and_run_between_them():
    low, high = np.array([270.0, 268.0, 275.0]), np.array([280.0, 281.0, 279.0])
    hours = np.arange(0, 72, 0.25)
    air = freezing.daily_air(low, high, hours)
    for day in range(3):
        assert air[hours == 24 * day + 6][0] == pytest.approx(low[day])
        assert air[hours == 24 * day + 15][0] == pytest.approx(high[day])
    assert air.min() == 268.0
    assert air.max() == 281.0
