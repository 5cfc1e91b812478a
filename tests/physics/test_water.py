"""Density and viscosity of water against printed values."""

import pytest

from rillwright.errors import InputError
from rillwright.physics import water


@pytest.mark.parametrize(
    ("celsius", "printed"),
    [(0, 999.84), (4, 999.97), (10, 999.70), (15, 999.10), (20, 998.21), (30, 995.65), (40, 992.22)],
)
def test_density_as_printed(celsius, printed):
    """Handbook of Chemistry and Physics, standard density of water (from memory), to the two decimals printed."""
    assert water.density(celsius + 273.15) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("celsius", "printed"), [(0, 1.793), (10, 1.306), (20, 1.002), (25, 0.890), (30, 0.797), (40, 0.653)]
)
def test_dynamic_viscosity_as_printed(celsius, printed):
    """Handbook of Chemistry and Physics, viscosity of liquid water in mPa·s (from memory).

    The handbook's older fit and the IAPWS one differ in the last digit, hence two units of it.
    """
    assert water.dynamic_viscosity(celsius + 273.15) * 1e3 == pytest.approx(printed, abs=0.002)


def test_viscosity_at_25_celsius_is_the_iapws_value():
    """IAPWS formulation 2008 for viscosity, 298.15 K at density 998 kg/m³: 889.7351 µPa·s (from memory)."""
    assert water.dynamic_viscosity(298.15) == pytest.approx(889.7e-6, rel=1e-3)


def test_kinematic_viscosity_of_textbooks():
    """1.004 mm²/s at 20 °C and 1.139 mm²/s at 15 °C in fluid mechanics texts (from memory), within 0.2 %."""
    assert water.viscosity(293.15) == pytest.approx(1.004e-6, rel=2e-3)
    assert water.viscosity(288.15) == pytest.approx(1.139e-6, rel=2e-3)


@pytest.mark.parametrize("temperature", [15.0, 273.0, 313.2, float("nan")])
def test_temperature_outside_the_correlations_is_refused(temperature):
    with pytest.raises(InputError, match=r"give 273\.15 to 313\.15 K"):
        water.density(temperature)
