"""Wire against printed tables: resistance at 20 °C and 75 °C, diameters, and runs worked by hand."""

import pytest
from fluids.piping import t_from_gauge

from rillwright.physics.wires import GAUGES, resistance, wire_diameter

FOOT, INCH = 0.3048, 0.0254

# ASTM B258 / NBS Handbook 100 (from memory), and NEC chapter 9 table 8 (14 and 12 AWG read in an annotated print, the
# others from memory): gauge, diameter [in], ohm per 1000 ft of solid copper at 20 °C and at 75 °C.
TABLE = [
    (18, 0.0403, 6.385, 7.77),
    (16, 0.0508, 4.016, 4.89),
    (14, 0.0641, 2.525, 3.07),
    (12, 0.0808, 1.588, 1.93),
    (10, 0.1019, 0.9989, 1.21),
]


@pytest.mark.parametrize(("gauge", "diameter", "cool", "warm"), TABLE)
def test_the_printed_tables(gauge, diameter, cool, warm):
    assert wire_diameter(gauge) / INCH == pytest.approx(diameter, abs=5e-5)
    assert 1000 * FOOT * resistance(gauge, temperature=293.15) == pytest.approx(cool, abs=0.001)
    assert 1000 * FOOT * resistance(gauge, temperature=348.15) == pytest.approx(warm, abs=0.01)


def test_a_list_for_another_temperature():
    """A list without a temperature has 6.505, 4.091 and 2.573 ohm: those are 25 °C values."""
    listed = {18: 6.505, 16: 4.091, 14: 2.573}
    for gauge, ohm in listed.items():
        assert 1000 * FOOT * resistance(gauge, temperature=298.15) == pytest.approx(ohm, rel=1e-3)


def test_a_run_worked_by_hand():
    """500 ft one way of 18 AWG with 0.25 A at 20 °C: V = 2 L R I = 1.596 V. Longest run for 4 V and 0.40 A: 783 ft."""
    ohm = resistance(18, temperature=293.15)
    assert 2 * 500 * FOOT * ohm * 0.25 == pytest.approx(1.596, abs=0.01)
    for temperature, feet in ((293.15, 783), (348.15, 643)):
        ohm = resistance(18, temperature=temperature)
        assert 4 / (2 * 0.40 * ohm) / FOOT == pytest.approx(feet, abs=1.0)  # whole feet, from 7.77


def test_fluids_has_the_same_diameters():
    """The open library fluids keeps wire gauges apart from us."""
    for gauge in GAUGES:
        assert wire_diameter(gauge) == pytest.approx(t_from_gauge(gauge, schedule="AWG"), rel=2e-3)


def test_three_gauges_down_halve_the_copper():
    """Ten gauges are a factor of about ten in area, three of about two: 92^(6/39) = 2.005."""
    assert resistance(18, temperature=293.15) / resistance(15, temperature=293.15) == pytest.approx(2.005, rel=1e-3)
