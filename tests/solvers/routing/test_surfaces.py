"""Prices of straight trenches, against sums by hand."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from rillwright.solvers.routing.surfaces import DigGround, Layer, dig_ground


@pytest.fixture(scope="module")
def dig(make_ground, box, costs):
    """Lawn 20 m by 10 m with a walk 2 m wide, a bed, a pond and a tree with roots of 1 m."""
    ground = make_ground(
        ("lawn", box(0, 0, 20, 10)),
        ("paving", box(8, 0, 10, 10)),
        ("bed", box(12, 0, 15, 4)),
        ("water", box(1, 7, 3, 9)),
        trees=(((17, 8), 0.2, 1.0),),
    )
    return dig_ground(ground, costs)


def line(*ends):
    return shapely.linestrings(np.array([ends], dtype=float))


@pytest.mark.parametrize(
    ("ends", "cost"),
    [
        (((0, 1), (7, 1)), 7 * 6),  # lawn
        (((7, 1), (11, 1)), 2 * 6 + 2 * 25 + 60),  # lawn, walk, lawn
        (((0, 1), (20, 1)), 15 * 6 + 2 * 25 + 60 + 3 * 7.5),  # lawn, walk, lawn, bed, lawn
        (((16.5, 0), (16.5, 10)), (10 - 3**0.5) * 6 + 3**0.5 * 18),  # through the roots, chord at half the radius
        (((8, 0), (8, 10)), 10 * 6),  # along the edge of the walk, on the lawn
        (((8, 0), (10, 0)), 2 * 25 + 60),  # along the lot line where the walk ends
        (((12, 4), (15, 4)), 3 * 6),  # along the edge of the bed
    ],
)
def test_price_is_the_sum_by_hand(dig, ends, cost):
    assert dig.price(line(*ends))[0] == pytest.approx(cost, rel=2e-3)  # outlines count to 1 cm


@pytest.mark.parametrize("ends", [((0.05, 0.3), (-0.02, 0.02)), ((0.03, 0.0), (-0.03, 1.0)), ((2.0, 0.0), (-2.0, 0.5))])
def test_where_two_cheap_surfaces_reach_over_one_another_a_trench_is_paid_once(ends):
    """Most of the ground is dear: the overlap was taken off its price twice, which led to trenches under nothing."""
    lawn, beside = shapely.box(-0.02, -5, 5, 5), shapely.box(-5, -5, 0.02, 5)
    layers = (Layer("lawn", lawn, 3.0, 0.0), Layer("ground", beside, 3.0, 0.0))
    dig = DigGround(shapely.box(-5, -5, 5, 5), Polygon(), Polygon(), Layer("roots", Polygon(), 60.0, 0.0), layers)
    assert dig.price(line(*ends))[0] == pytest.approx(3 * np.hypot(*np.subtract(*ends)), rel=1e-9)


def test_pieces_follow_one_another_and_cost_what_the_line_costs(dig):
    start, end = (0.0, 1.0), (20.0, 1.0)
    pieces = dig.pieces(start, end)
    assert [layer.name for layer, _, _ in pieces] == ["lawn", "paving", "lawn", "bed", "lawn"]
    assert (pieces[0][1], pieces[-1][2]) == (0.0, 20.0)
    assert all(one[2] == two[1] for one, two in pairwise(pieces))
    cost = sum((high - low) * layer.per_metre + layer.per_crossing for layer, low, high in pieces)
    assert cost == pytest.approx(dig.price(line(start, end))[0], rel=1e-3)


@pytest.mark.parametrize(
    ("ends", "clear"),
    [
        (((0, 8), (5, 8)), False),  # through the pond
        (((0, 7), (5, 7)), True),  # along it
        (((15, 8), (19, 8)), False),  # through the trunk
        (((19, 5), (21, 5)), False),  # off the lot
        (((20, 0), (20, 10)), True),  # along the lot line
    ],
)
def test_what_may_not_be_dug_is_told(dig, ends, clear):
    assert dig.clear(line(*ends))[0] == clear


def test_closed_roots_and_far_points(make_ground, box, costs):
    ground = make_ground(("lawn", box(0, 0, 10, 10)), trees=(((5, 5), 0.2, 2.0),))
    closed = {**costs, "roots": type(costs["roots"])("roots", None, 0.0, "invented for tests")}
    dig = dig_ground(ground, closed, points=[(-4.0, 5.0)])
    assert not dig.clear(line((0, 5.5), (10, 5.5)))[0]
    assert dig.clear(line((-4, 5), (2, 5)))[0]
