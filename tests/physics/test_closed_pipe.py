import math

import pytest

from rillwright.errors import InputError
from rillwright.physics.closed_pipe import air_swelling, creep_share, wall_stretch, wall_swelling
from rillwright.physics.pipes import PVC_MODULUS, wave_speed
from rillwright.physics.water import compressibility, density


@pytest.mark.parametrize(("celsius", "printed"), [(0, 50.89), (10, 47.81), (20, 45.89), (30, 44.77), (40, 44.24)])
def test_compressibility_agrees_with_kell(celsius, printed):
    """Kell 1975, table of isothermal compressibility of air-free water, 1e-6 per bar; from memory."""
    assert compressibility(celsius + 273.15) * 1e11 == pytest.approx(printed, abs=0.01)


def test_water_heated_in_a_rigid_vessel_gains_four_and_a_half_bar_a_kelvin():
    """Handbook, from memory: at 20 °C expansion 2.07e-4 1/K over compressibility 4.59e-10 1/Pa, 0.45 MPa/K."""
    expansion = density(292.65) / density(293.65) - 1
    assert expansion == pytest.approx(2.07e-4, rel=0.005)
    assert expansion / compressibility(293.15) == pytest.approx(0.45e6, rel=0.01)


@pytest.mark.parametrize("ratio", [14, 21, 26])
def test_stretch_gives_the_wave_speed_that_awwa_prints(ratio):
    """AWWA M23 (from memory) leaves Poisson's ratio out and rounds the modulus of water to 300 000 psi (2.07 GPa)."""
    wall = 0.001
    stretch = wall_stretch(inside_diameter=(ratio - 2) * wall, wall=wall, modulus=PVC_MODULUS, poisson=0.0)
    ours = 1 / math.sqrt(1000 * (1 / 2.0684e9 + stretch))
    # its thin wall lacks the term 2e/D of ours, which gives 2/D more and (D/(D+e)) less: 3 % at the thickest
    assert ours == pytest.approx(wave_speed(ratio), rel=0.035)


def test_thin_wall_stretches_as_the_textbook_has_it():
    """Anchored thin pipe: D/(eE) (1 - m²), Wylie and Streeter, from memory."""
    found = wall_stretch(inside_diameter=1.0, wall=1e-5, modulus=2e9, poisson=0.4)
    assert found == pytest.approx(1e5 / 2e9 * (1 - 0.16), rel=1e-4)


def test_warming_raises_pressure_in_copper_and_lowers_it_in_polyethylene():
    water = density(285.0) / density(286.0) - 1
    assert wall_swelling(expansion=17e-6, poisson=0.34) < water < wall_swelling(expansion=160e-6, poisson=0.45)


def test_creep_is_straight_over_the_logarithm_and_air_follows_boyle():
    """PPI handbook, from memory: PE modulus 78 000 psi at 1 h and 65 000 at 10 h."""
    assert creep_share(9 * 3600.0, per_decade=0.2, held=3600.0) == pytest.approx(78 / 65 - 1, abs=0.005)
    assert air_swelling(1e5, start=5e5, warming=1.0) == pytest.approx((5e5 + 101325) / (1e5 + 101325) - 1)


def test_impossible_pipes_are_refused():
    with pytest.raises(InputError, match="must all exceed 0"):
        wall_stretch(inside_diameter=0.02, wall=0.0, modulus=1e9, poisson=0.4)
