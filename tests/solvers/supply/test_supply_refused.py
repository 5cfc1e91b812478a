"""Supplies that cannot be fitted are refused, and it is said why."""

import dataclasses
import math

import pytest

from rillwright.errors import InputError
from rillwright.physics.units import FOOT
from rillwright.solvers.supply import (
    fit_supply,
    safe_flow,
)
from supply_measured import (
    CATALOGUE,
    NEEDED,
    bucket,
    fitted,
    yard_with,
)


def test_unknown_pipe_size_says_which_sizes_there_are():
    with pytest.raises(InputError, match=r"no PE pipe of size '7/8 in'.*Sizes there: 1/2 in, 3/4 in, 1 in"):
        fitted(size="7/8 in")


def test_a_measured_bore_needs_no_size_in_the_table():
    entry = yard_with().water_entry
    pipe = entry.pipe.model_copy(update={"size": "7/8 in", "bore": 0.021})
    yard = yard_with().model_copy(update={"water_entry": entry.model_copy(update={"pipe": pipe})})
    limits = safe_flow(fit_supply(yard, CATALOGUE), pressure=NEEDED, yard=yard, catalogue=CATALOGUE).limits
    assert limits[1].flow == pytest.approx(7.5 * FOOT * math.pi / 4 * 0.021**2)


def test_a_meter_that_the_catalogue_lacks_is_named():
    poor = dataclasses.replace(CATALOGUE, meters={})
    with pytest.raises(InputError, match="no meter of size '1 in'"):
        fit_supply(yard_with(), poor)


@pytest.mark.parametrize(
    ("reading", "what"),
    [
        (bucket(3.0, start_delay=4.0), "no time to fill"),
        ({"kind": "meter reading", "volume": 0.1, "seconds": 0}, "'seconds' is 0"),
    ],
)
def test_readings_without_a_time_are_refused(reading, what):
    with pytest.raises(InputError, match=what):
        fitted(reading)


def test_too_few_draws_are_refused():
    with pytest.raises(InputError, match="at least 500"):
        fit_supply(yard_with(), CATALOGUE, draws=10)
