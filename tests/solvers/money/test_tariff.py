"""Block tariffs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.physics.units import FOOT, GALLON
from rillwright.solvers.money import block_bill, top_price


def test_a_bill_reckoned_by_hand():
    """Common practice, no source: 12 units at 3 + 8 units at 4.5 + 5 units at 6, and a fixed charge of 20.

    25 units of 1000 gal: 12·3 + 8·4.5 + 5·6 + 20 = 36 + 36 + 30 + 20 = 122.
    """
    unit = 1000 * GALLON
    bill = block_bill(25 * unit, ends=[12 * unit, 20 * unit], prices=[p / unit for p in (3.0, 4.5, 6.0)], fixed=20.0)
    assert bill == pytest.approx(122.0, rel=1e-12)
    assert unit == pytest.approx(3.785411784, rel=1e-12)  # NIST SP 811: 1 gal is 3.785 411 784 L
    hundred = 100 * FOOT**3
    assert hundred == pytest.approx(2.8316846592, rel=1e-12)  # NIST SP 811: 1 ft³ is 0.028 316 846 592 m³


blocks = st.lists(st.floats(0.1, 50), min_size=1, max_size=5)


@given(
    widths=blocks, steps=st.lists(st.floats(0, 9), min_size=6, max_size=6), used=st.lists(st.floats(0, 300), min_size=2)
)
def test_a_rising_tariff_never_gets_cheaper_by_the_unit(widths, steps, used):
    ends = [sum(widths[: n + 1]) for n in range(len(widths))]
    prices = [sum(steps[: n + 1]) for n in range(len(ends) + 1)]
    low, high = sorted(used[:2])
    cost = {v: block_bill(v, ends=ends, prices=prices) for v in (low, high, (low + high) / 2)}
    assert cost[high] >= cost[low] - 1e-9
    assert cost[(low + high) / 2] <= (cost[low] + cost[high]) / 2 + 1e-6 * (1 + cost[high])  # convex
    assert cost[high] - cost[low] <= top_price(high, ends=ends, prices=prices) * (high - low) + 1e-6 * (1 + cost[high])


def test_the_house_fills_the_first_blocks():
    """What the yard adds is dearer than the same water alone."""
    tariff = {"ends": [10.0], "prices": [1.0, 5.0]}
    alone = block_bill(8.0, **tariff)
    added = block_bill(18.0, **tariff) - block_bill(10.0, **tariff)
    assert (alone, added) == (8.0, 40.0)
