import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.errors import UnitError
from rillwright.physics import units

PINT = pint.UnitRegistry()
PINT_NAMES = {
    "ft": "foot",
    "feet": "foot",
    "'": "foot",
    "in": "inch",
    "inch": "inch",
    '"': "inch",
    "psi": "pound_force_per_square_inch",
    "kPa": "kilopascal",
    "gpm": "gallon / minute",
    "cfm": "foot ** 3 / minute",
    "L/min": "liter / minute",
    "L/s": "liter / second",
    "m3/h": "meter ** 3 / hour",
    "m³/h": "meter ** 3 / hour",
    "gal": "gallon",
    "L": "liter",
    "m3": "meter ** 3",
    "m³": "meter ** 3",
    "ft3": "foot ** 3",
    "ft³": "foot ** 3",
    "ft/s": "foot / second",
    "mph": "mile / hour",
    "km/h": "kilometer / hour",
    "in/h": "inch / hour",
    "mm/h": "millimeter / hour",
    "ft²": "foot ** 2",
    "ft2": "foot ** 2",
    "m²": "meter ** 2",
    "m2": "meter ** 2",
    "°F": "degree_Fahrenheit",
    "F": "degree_Fahrenheit",
    "°C": "degree_Celsius",
    "C": "degree_Celsius",
    "h": "hour",
    "°": "dimensionless",
    "deg": "dimensionless",
    "A": "ampere",
    "mA": "milliampere",
    "V": "volt",
    "VA": "volt * ampere",
    "Ω/kft": "ohm / kilofoot",
    "Ω/km": "ohm / kilometer",
}
SI = {
    "length": "meter",
    "bore": "meter",
    "pressure": "pascal",
    "flow": "meter ** 3 / second",
    "air flow": "meter ** 3 / second",
    "volume": "meter ** 3",
    "time": "second",
    "velocity": "meter / second",
    "wind": "meter / second",
    "rate": "meter / second",
    "area": "meter ** 2",
    "temperature": "kelvin",
    "current": "ampere",
    "voltage": "volt",
    "load": "volt * ampere",
    "wire resistance": "ohm / meter",
}
TYPED = [(d, u) for d in SI for u in (*units.DIMENSIONS[d].typed, units.DIMENSIONS[d].us, units.DIMENSIONS[d].metric)]
systems = st.sampled_from(["US", "metric"])
dimensions = st.sampled_from(sorted(units.DIMENSIONS))


@pytest.mark.parametrize(("dimension", "unit"), TYPED, ids=[f"{d}-{u.name}" for d, u in TYPED])
def test_every_unit_agrees_with_the_library_pint(dimension, unit):
    theirs = PINT.Quantity(7.25, PINT_NAMES.get(unit.name, unit.name)).to(SI[dimension]).magnitude
    assert 7.25 * unit.factor + unit.offset == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "dimension", "printed", "digits"),
    [
        ("1 gpm", "flow", 6.309020e-05, 7),  # NIST SP 811 appendix B.8: gallon (US) per minute, in m³/s
        ("1 psi", "pressure", 6.894757e03, 7),  # pound-force per square inch, in Pa
        ("1 ft", "length", 3.048e-01, 12),  # exact
        ("1 in", "bore", 2.54e-02, 12),  # exact
        ("1 gal", "volume", 3.785412e-03, 7),
        ("1 ft2", "area", 9.290304e-02, 12),  # exact
        ("1 in/h", "rate", 2.54e-02 / 3600, 12),
        ("1 mph", "wind", 4.4704e-01, 12),  # exact
        ("1 bar", "pressure", 1e5, 12),  # exact
        ("32 °F", "temperature", 273.15, 12),  # exact
    ],
)
def test_factors_of_nist_special_publication_811(value, dimension, printed, digits):
    """NIST SP 811, appendix B, from memory; compared to the digits printed there."""
    assert units.parse(value, dimension) == pytest.approx(printed, rel=0.6 * 10 ** (1 - digits))


def test_one_gpm_in_the_metric_units_of_the_trade():
    """1 gpm = 3.785412 L/min = 0.2271247 m³/h (NIST SP 811, recomputed)."""
    flow = units.parse("1 gpm", "flow")
    assert units.to_system(flow, "flow", "metric") == pytest.approx(3.785412, abs=5e-7)
    assert flow * 3600 == pytest.approx(0.2271247, abs=5e-8)


@given(st.floats(-1e6, 1e6), dimensions, systems)
def test_a_bare_number_comes_back(value, dimension, system):
    back = units.to_system(units.from_system(value, dimension, system), dimension, system)
    assert back == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.floats(-1e4, 1e4).map(lambda v: round(v, 4)), st.sampled_from(TYPED))
def test_a_typed_number_is_read(value, typed):
    dimension, unit = typed
    if unit.name not in {u.name for u in units.DIMENSIONS[dimension].typed}:
        return
    expected = value * unit.factor + unit.offset
    assert units.parse(f"{value:f} {unit.name}", dimension) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(st.floats(0, 500).map(lambda v: round(v, 3)), dimensions, systems)
def test_what_is_shown_can_be_read_to_its_precision(value, dimension, system):
    spec = units.DIMENSIONS[dimension]
    if not spec.unit(system).name:
        return
    decimals = spec.us_decimals if system == "US" else spec.metric_decimals
    again = units.parse(units.show(units.from_system(value, dimension, system), dimension, system), dimension)
    assert units.to_system(again, dimension, system) == pytest.approx(value, abs=0.5 * 10**-decimals * 1.0001)


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("3/4 in", "bore", 0.75 * 0.0254),
        ("1-1/4 in", "bore", 1.25 * 0.0254),
        ("1 1/2 in", "bore", 1.5 * 0.0254),
        ("72 ft 6 in", "length", 72.5 * 0.3048),
        ("26'3\"", "length", 26.25 * 0.3048),
        ("26' 3-1/2\"", "length", (26 + 3.5 / 12) * 0.3048),
        ("72' 6\"", "length", 72.5 * 0.3048),
        ("-4 ft 6 in", "length", -4.5 * 0.3048),
        ("- 1-1/4 in", "bore", -1.25 * 0.0254),
        ("+3/4 in", "bore", 0.75 * 0.0254),
        ("-4 °F", "temperature", 253.15),
        ("1.2e3 kPa", "pressure", 1.2e6),
        ("60psi", "pressure", 60 * units.PSI),
        ("12.5 %", "share", 0.125),
        ("2 min 30 s", "time", 150.0),
    ],
)
def test_ways_of_writing(text, dimension, si):
    assert units.parse(text, dimension) == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("", "length"),
        ("   ", "length"),
        ("60", "pressure"),
        ("psi", "pressure"),
        ("60 ft", "pressure"),
        ("60 psi", "length"),
        ("1/0 in", "bore"),
        ("1.2.3 ft", "length"),
        ("12 ft and", "length"),
        ("nan ft", "length"),
        ("--3 ft", "length"),
        ("5 ft -3 in", "length"),
        ("20 °F 5 °F", "temperature"),
        ("3 stone", "length"),
    ],
)
def test_what_cannot_be_read_is_refused_with_the_units_allowed(text, dimension):
    with pytest.raises(UnitError) as caught:
        units.parse(text, dimension)
    names = [u.name for u in units.DIMENSIONS[dimension].typed]
    assert "number" in str(caught.value)
    assert any(name in str(caught.value) for name in names) or "readable" in str(caught.value)


def test_no_minus_stands_before_nothing():
    assert units.show(-1e-9, "flow", "US") == "0.00 gpm"


def test_every_dimension_names_a_unit_that_can_be_typed():
    for name, spec in units.DIMENSIONS.items():
        for system in ("US", "metric"):
            unit = units.unit_name(name, system)
            assert not unit or unit in {u.name for u in spec.typed}, name


def test_gravity_is_the_standard_one():
    """9.80665 m/s² exactly: third General Conference on Weights and Measures, 1901."""
    assert math.isclose(units.GRAVITY, 9.80665, rel_tol=0)
