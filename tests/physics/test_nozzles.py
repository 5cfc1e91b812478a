import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.physics.nozzles import (
    fit_flow_law,
    orifice_flow,
    outlet_flow,
    precipitation_rate,
    rectangular_rate,
    triangular_rate,
)
from rillwright.physics.units import FOOT, GPM, INCH, PSI

IN_PER_H = INCH / 3600
pressures = st.floats(5e4, 1e6)


@pytest.mark.parametrize(
    ("gpm", "square_feet", "inches_per_hour", "tolerance"),
    [
        (8.0, 60 * 15, 0.8556, 5e-5),  # worked slide 'Sprinkler Precipitation Rates': six of 1.0 and four of 0.5 gpm
        (10.0, 1000.0, 0.9625, 1e-9),  # a utility's page on finding the precipitation rate
        (1.0, 1.0, 96.25, 1e-9),  # the trade's constant: 60 · 12 · 231 / 1728
    ],
)
def test_precipitation_rate_in_us_units(gpm, square_feet, inches_per_hour, tolerance):
    rate = precipitation_rate(gpm * GPM, area=square_feet * FOOT**2)
    assert rate / IN_PER_H == pytest.approx(inches_per_hour, abs=tolerance)


def test_precipitation_rate_of_spacings():
    """Arithmetic on the definition: 3 gpm at 30 ft, square and equilateral; 6 gpm, 30 ft in rows 25 ft apart."""
    square = rectangular_rate(3 * GPM, spacing=30 * FOOT, row_spacing=30 * FOOT)
    assert square / IN_PER_H == pytest.approx(0.3208, abs=5e-5)
    assert square * 3.6e6 == pytest.approx(8.149, abs=1e-3)  # [mm/h]
    assert triangular_rate(3 * GPM, spacing=30 * FOOT) / IN_PER_H == pytest.approx(0.3705, abs=1e-4)
    rows = rectangular_rate(6 * GPM, spacing=30 * FOOT, row_spacing=25 * FOOT)
    assert rows / IN_PER_H == pytest.approx(0.770, abs=5e-4)  # the row spacing holds the 0.866 already


@given(st.floats(0.5, 50), st.floats(1e-6, 1e-3))
def test_triangular_is_rectangular_with_its_own_row_spacing(spacing, flow):
    rows = rectangular_rate(flow, spacing=spacing, row_spacing=spacing * math.sin(math.radians(60)))
    assert triangular_rate(flow, spacing=spacing) == pytest.approx(rows)


def test_orifice_flow_in_us_units():
    """gpm = 29.84 · Cd · d² · sqrt(psi): 1/8 in, 0.95, 50 psi give 3.13 gpm; the constant is printed to 4 digits."""
    flow = orifice_flow(50 * PSI, diameter=INCH / 8, discharge=0.95)
    assert flow / GPM == pytest.approx(3.13, abs=0.01)
    assert orifice_flow(PSI, diameter=INCH, discharge=1.0) / GPM == pytest.approx(29.84, rel=1e-3)


def test_orifice_refuses_negative_pressure():
    with pytest.raises(ValueError, match="negative pressure"):
        orifice_flow(-1.0, diameter=0.003, discharge=0.9)


@given(pressures)
def test_four_times_the_pressure_gives_twice_the_flow(pressure):
    once = orifice_flow(pressure, diameter=0.003, discharge=0.95)
    assert orifice_flow(4 * pressure, diameter=0.003, discharge=0.95) == pytest.approx(2 * once)


def test_twenty_percent_of_pressure_is_ten_of_flow():
    """NRCS practice standard 442 and NEH 623 chapter 11: the 20 % pressure rule; figures are arithmetic."""
    full = outlet_flow(300e3, coefficient=1e-6, exponent=0.5)
    assert outlet_flow(240e3, coefficient=1e-6, exponent=0.5) / full - 1 == pytest.approx(-0.1056, abs=5e-5)
    assert outlet_flow(0.81 * 300e3, coefficient=1e-6, exponent=0.5) / full == pytest.approx(0.9)


def test_no_pressure_no_flow():
    assert outlet_flow(0.0, coefficient=1e-6, exponent=0.5) == 0
    assert outlet_flow(-1e5, coefficient=1e-6, exponent=0.5) == 0
    assert outlet_flow(0.0, coefficient=1e-4, exponent=0.0) == 0


@given(st.floats(0.0, 1.0), st.floats(1e-6, 1e-3), st.lists(pressures, min_size=2, max_size=8, unique_by=round))
def test_a_chart_made_by_a_law_gives_the_law_back(exponent, at_100_kpa, pressure):
    coefficient = at_100_kpa / 1e5**exponent
    flow = [coefficient * p**exponent for p in pressure]
    fitted = fit_flow_law(pressure, flow)
    for p, q in zip(pressure, flow, strict=True):
        assert outlet_flow(p, coefficient=fitted[0], exponent=fitted[1]) == pytest.approx(q, rel=1e-6)


def test_fit_agrees_with_numpy_on_scattered_rows():
    random = np.random.default_rng(11)
    pressure = np.linspace(150e3, 450e3, 9)
    flow = 4e-7 * pressure**0.52 * random.uniform(0.97, 1.03, 9)
    slope, level = np.polyfit(np.log(pressure), np.log(flow), 1)
    assert fit_flow_law(tuple(pressure), tuple(flow)) == pytest.approx((math.exp(level), slope), rel=1e-9)


@pytest.mark.parametrize(
    ("pressure", "flow"),
    [((1e5,), (1e-4,)), ((1e5, 1e5), (1e-4, 2e-4)), ((1e5, 2e5), (1e-4,)), ((0.0, 2e5), (1e-4, 2e-4)), ((), ())],
)
def test_a_law_needs_two_different_pressures(pressure, flow):
    with pytest.raises(ValueError, match="two different pressures"):
        fit_flow_law(pressure, flow)
