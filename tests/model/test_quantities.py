import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from rillwright.model.quantities import Bore, Flow, Height, Length, Pressure, Share, Volume

REGISTRY = pint.UnitRegistry()
FIELDS = [(Length, "ft", "m"), (Pressure, "psi", "kPa"), (Volume, "gallon", "L"), (Bore, "inch", "mm")]


@pytest.mark.parametrize(("field", "us", "metric"), FIELDS)
@given(number=st.floats(0.001, 30))
def test_bare_numbers_agree_with_a_units_library(field, us, metric, number):
    """Checked with pint, whose unit definitions follow NIST SP 811."""
    for system, name in (("US", us), ("metric", metric)):
        ours = TypeAdapter(field).validate_python(number, context={"units": system})
        assert ours == pytest.approx(REGISTRY.Quantity(number, name).to_base_units().magnitude, rel=1e-11)


@pytest.mark.parametrize("field", [Length, Height, Pressure, Flow, Share])
@given(number=st.floats(0, 1), system=st.sampled_from(["US", "metric"]))
def test_what_is_read_is_written_and_read_again_the_same(field, number, system):
    adapter, context = TypeAdapter(field), {"units": system}
    once = adapter.validate_python(number, context=context)
    written = adapter.dump_python(once, context=context)
    assert adapter.validate_python(written, context=context) == once
    assert adapter.dump_python(adapter.validate_python(written, context=context), context=context) == written


def test_without_a_system_numbers_are_si_and_pass_untouched():
    third = 1 / 3
    assert TypeAdapter(Length).validate_python(third) == third
    assert TypeAdapter(Length).dump_python(third) == third


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        (Length, -1, "at least 0 ft"),
        (Bore, 0, "more than 0 in"),
        (Pressure, 291, "at most 290.075 psi"),
        (Length, "5 psi", "one of these units: ft, in"),
        (Length, "1/0 ft", "no readable number"),
        (Length, None, "number, or a text with a unit"),
        (Length, float("nan"), "finite"),
        (Length, 10**400, "finite"),
        (Length, "1e999 ft", "finite"),
        (Length, "9" * 400 + "/2 ft", "finite"),
        (Share, "5 %", "plain number"),
        (Share, 5, "at most 1"),
    ],
)
def test_refusals_say_what_may_stand_in_the_units_of_the_file(field, value, said):
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(field).validate_python(value, context={"units": "US"})
    assert said in caught.value.errors()[0]["msg"]
