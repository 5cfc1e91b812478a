"""The best row of strips, against every row there is."""

import itertools

import numpy as np
import pytest

from coverage_yards import CATALOGUE, PRESSURE, ground_of, lawn, rectangle, yard_of
from rillwright.solvers.coverage import lay_out_lawn
from rillwright.solvers.coverage.strip_rows import best_row, row_cost


def every_row(steps, settings, most):
    """All rows of up to so many heads, in order along the line."""
    nodes = list(itertools.product(range(steps + 1), range(settings)))
    for count in range(1, most + 1):
        for row in itertools.product(nodes, repeat=count):
            if all(one[0] <= other[0] for one, other in itertools.pairwise(row)):
                yield list(row)


@pytest.mark.parametrize("seed", range(30))
def test_no_row_at_all_costs_less(seed):
    """Brute force over rows of up to four heads, on lines of three to six steps."""
    rng = np.random.default_rng(seed)
    steps, settings = int(rng.integers(3, 7)), int(rng.integers(1, 4))
    ahead, behind = np.zeros((settings, steps)), np.zeros((settings, steps))
    for rates in (*ahead, *behind):
        rates[: rng.integers(0, 4)] = rng.uniform(0.2, 1.5)
    terms = {"steps": steps, "wanted": float(rng.uniform(0.5, 1.5)), "price": float(rng.uniform(0.05, 0.6))}
    found = row_cost(best_row(ahead, behind, **terms), ahead, behind, **terms)
    least = min(row_cost(row, ahead, behind, **terms) for row in every_row(steps, settings, 4))
    assert found <= least + 1e-9
    if len(best_row(ahead, behind, **terms)) <= 4:
        assert found == pytest.approx(least)


def test_two_even_strips_back_to_back_water_a_line_evenly():
    """Each throws five steps evenly, one ahead and one back: at the middle, both; at the ends, facing, both."""
    ahead, behind = np.zeros((2, 10)), np.zeros((2, 10))
    ahead[0, :5] = behind[1, :5] = 1.0
    row = best_row(ahead, behind, steps=10, wanted=1.0, price=0.1)
    assert len(row) == 2
    assert row_cost(row, ahead, behind, steps=10, wanted=1.0, price=0.1) == pytest.approx(0.2)


def test_a_strip_as_long_as_two_patterns_takes_two():
    """Two centre strips of 30 ft side by side end to end: 60 ft by 4 ft, each stated as its pattern."""
    yard = yard_of(lawn(rectangle(0, 0, 60 * 0.3048, 4 * 0.3048)))
    terms = {"ground": ground_of(yard), "yard": yard, "catalogue": CATALOGUE, "pressure": PRESSURE["strip"]}
    layout = lay_out_lawn("L", head_class="strip", effort=0.5, **terms)[0]
    assert 2 <= len(layout.heads) <= 4
    assert layout.lawn.on_lawn >= 0.9 * layout.lawn.water
