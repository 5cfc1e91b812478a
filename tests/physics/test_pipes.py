"""Pipe formulas against handbook values."""

import numpy as np
import pytest

from rillwright.errors import InputError
from rillwright.physics import pipes
from rillwright.physics.units import FOOT, GPM, INCH, PSI


def test_velocity_by_the_us_rule():
    """NFPA 13: velocity [ft/s] = 0.4085 Q / d², gpm and in; 10 gpm in 1.049 in gives 3.71 ft/s."""
    speed = pipes.velocity(10 * GPM, inside_diameter=1.049 * INCH)
    assert speed / FOOT == pytest.approx(3.71, abs=0.005)
    assert speed / FOOT == pytest.approx(0.4085 * 10 / 1.049**2, rel=2e-4)


@pytest.mark.parametrize(
    ("ratio", "speed", "rise"),
    [(14, 1474, 19.8), (18, 1292, 17.4), (21, 1193, 16.0), (25, 1091, 14.7), (26, 1069, 14.4)],
)
def test_wave_speed_and_surge_in_pvc(ratio, speed, rise):
    """Handbook of PVC Pipe; AWWA M23 (from memory): speed in ft/s, surge in psi for each 1 ft/s stopped."""
    wave = pipes.wave_speed(ratio)
    assert wave / FOOT == pytest.approx(speed, abs=1)
    assert pipes.surge(FOOT, wave_speed=wave, density=998.2) / PSI == pytest.approx(rise, abs=0.1)


def test_joukowsky():
    """1000 kg/m³, 1200 m/s, 1 m/s: 1200 kPa exactly (arithmetic)."""
    assert pipes.surge(1.0, wave_speed=1200.0) == 1.2e6


def test_critical_closing_time():
    """100 m at 350 m/s: 0.571 s (textbook)."""
    assert pipes.critical_closing_time(100.0, wave_speed=350.0) == pytest.approx(0.571, abs=5e-4)


def test_a_slow_stop_meets_a_sudden_one_at_the_critical_closing_time():
    """Michaud's and Joukowsky's formulas agree there (any text on water hammer)."""
    time = pipes.critical_closing_time(100.0, wave_speed=350.0)
    assert pipes.closing_surge(150.0, closing_time=time) == pytest.approx(pipes.surge(1.5, wave_speed=350.0))
    assert pipes.closing_surge(150.0, closing_time=2 * time) == pytest.approx(pipes.surge(0.75, wave_speed=350.0))


def test_ratings():
    """ASTM D2241: SDR-21 200 psi, SDR-26 160 psi; ASTM D2239: SIDR-15 100 psi (from memory)."""
    for ratio, rating in ((21, 200), (26, 160)):
        assert pipes.rating_by_outside_ratio(2000 * PSI, dimension_ratio=ratio) == pytest.approx(rating * PSI)
    assert pipes.rating_by_inside_ratio(800 * PSI, dimension_ratio=15) == pytest.approx(100 * PSI)


@pytest.mark.parametrize(
    ("outside", "wall", "rating"),
    [
        (0.840, 0.109, 600),
        (1.050, 0.113, 480),
        (1.315, 0.133, 450),
        (1.660, 0.140, 370),
        (1.900, 0.145, 330),
        (2.375, 0.154, 280),
    ],
)
def test_schedule_40_ratings(outside, wall, rating):
    """ASTM D1785 as printed in pipe lists, rounded to 10 psi."""
    found = pipes.rating_by_outside_ratio(2000 * PSI, dimension_ratio=outside / wall) / PSI
    assert found == pytest.approx(rating, abs=5.1)


def test_arrays_pass_through():
    bores = np.array([0.02, 0.05])
    assert np.allclose(pipes.flow_at_velocity(1.5, inside_diameter=0.02), 1.5 * pipes.area(bores)[0])
    assert pipes.velocity(np.array([0.0, 1e-3]), inside_diameter=0.05).shape == (2,)


@pytest.mark.parametrize(("ratio", "modulus"), [(2.0, 1e9), (0.0, 1e9), (21.0, 0.0)])
def test_impossible_pipe_is_refused(ratio, modulus):
    with pytest.raises(InputError, match="must exceed 2"):
        pipes.wave_speed(ratio, elastic_modulus=modulus)
