"""Evenness in many draws: against the measures of a single layout."""

import numpy as np
import pytest

from coverage_yards import CATALOGUE, ground_of, head, lawn, rectangle, yard_of
from rillwright.physics.evenness import distribution_uniformity
from rillwright.solvers.certainty.evenness import low_quarter, uniformity_draws
from rillwright.solvers.coverage import evaluate_layout

CORNERS = (((0.05, 0.05), 0.0), ((6.95, 0.05), 90.0), ((6.95, 6.95), 180.0), ((0.05, 6.95), 270.0))


def four_corners(wind=0.0):
    yard = yard_of(lawn(rectangle(0, 0, 7, 7)), wind=wind)
    heads = tuple(
        head("rotary 25 ft", at=at, arc_start=start, arc=90.0, radius=7.0, flow=4e-5).model_copy(update={"id": f"H{k}"})
        for k, (at, start) in enumerate(CORNERS)
    )
    return yard, heads


def drawn(yard, heads, flows, wind=0.0):
    return uniformity_draws(
        heads,
        np.asarray(flows),
        wind=np.full(len(flows), wind),
        lawn_id="L",
        ground=ground_of(yard),
        yard=yard,
        catalogue=CATALOGUE,
    )


def test_draws_of_the_planned_flows_are_as_even_as_the_layout():
    yard, heads = four_corners()
    layout = evaluate_layout(heads, lawn_id="L", ground=ground_of(yard), yard=yard, catalogue=CATALOGUE)
    flows = np.array([[h.flow for h in heads]] * 3) * [[1.0], [1.0], [1.7]]
    assert drawn(yard, heads, flows) == pytest.approx(
        layout.lawn.evenness.du, rel=1e-9
    )  # a share: 1.7 times changes none


def test_a_draw_is_the_layout_with_that_draws_flows():
    yard, heads = four_corners()
    flows = [4e-5, 2e-5, 5e-5, 3e-5]
    own = tuple(h.model_copy(update={"flow": q}) for h, q in zip(heads, flows, strict=True))
    layout = evaluate_layout(own, lawn_id="L", ground=ground_of(yard), yard=yard, catalogue=CATALOGUE)
    assert drawn(yard, heads, [flows]) == pytest.approx(layout.lawn.evenness.du, rel=1e-9)


def test_the_stronger_wind_waters_less_evenly():
    yard, heads = four_corners(wind=3.0)
    still, _ = four_corners()
    flows = [[h.flow for h in heads]]
    weak, strong = drawn(yard, heads, flows, wind=0.0), drawn(yard, heads, flows, wind=0.99)
    assert strong < weak < drawn(still, heads, flows) + 0.02


def test_rows_are_measured_as_one_is():
    rows = np.random.default_rng(0).random((5, 37))  # 37 / 4 ends inside a cell
    assert low_quarter(rows) == pytest.approx([distribution_uniformity(row) for row in rows])
    assert low_quarter(np.zeros((1, 8))) == 0
