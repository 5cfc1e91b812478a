"""Daylight against FAO Irrigation and Drainage Paper 56 (1998), chapter 3 example 9 and chapter 4 example 18."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.physics.daylight import daylight

DAYS = st.integers(1, 366)


@pytest.mark.parametrize(("latitude", "day", "hours"), [(-20.0, 246, 11.7), (50.8, 187, 16.1)])
def test_the_paper_s_examples(latitude, day, hours):
    """Printed to a tenth of an hour; the figures are from memory."""
    assert daylight(math.radians(latitude), day_of_year=day) / 3600 == pytest.approx(hours, abs=0.05)


@given(DAYS)
def test_the_equator_has_twelve_hours(day):
    assert daylight(0.0, day_of_year=day) == pytest.approx(12 * 3600)


@given(st.floats(-1.5, 1.5), DAYS)
def test_north_and_south_share_the_day(latitude, day):
    both = daylight(latitude, day_of_year=day) + daylight(-latitude, day_of_year=day)
    assert both == pytest.approx(86_400)


def test_the_pole_s_day_and_night():
    assert daylight(math.radians(80), day_of_year=172) == pytest.approx(86_400)
    assert daylight(math.radians(80), day_of_year=355) == pytest.approx(0.0)
