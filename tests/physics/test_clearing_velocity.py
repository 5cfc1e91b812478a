"""The flow that clears air from a falling pipe, against another published formula."""

import math

import pytest

from rillwright.errors import InputError
from rillwright.physics.air import clearing_velocity

G = 9.80665


@pytest.mark.parametrize("slope", [0.03, 0.1, 0.2, 0.38])
def test_two_laboratories_agree_within_a_quarter(slope):
    """Wisner et al., J. Hydraulics Div. ASCE 101 (1975): v/sqrt(gD) = 0.25 sqrt(S) + 0.825 (from memory)."""
    other = math.sqrt(G * 0.15) * (0.25 * math.sqrt(slope) + 0.825)
    assert clearing_velocity(0.15, slope=slope) == pytest.approx(other, rel=0.25)


def test_steeper_and_wider_pipes_want_more():
    speeds = [clearing_velocity(0.03, slope=s / 10) for s in range(11)]
    assert speeds == sorted(speeds)
    assert clearing_velocity(0.12, slope=0.1) == pytest.approx(2 * clearing_velocity(0.03, slope=0.1))


@pytest.mark.parametrize(("bore", "slope"), [(0.0, 0.1), (0.03, -0.1), (0.03, 1.1), (0.03, math.nan)])
def test_impossible_pipes_are_refused(bore, slope):
    with pytest.raises(InputError, match="bore"):
        clearing_velocity(bore, slope=slope)
