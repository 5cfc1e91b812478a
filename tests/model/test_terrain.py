import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import LinearNDInterpolator

from rillwright.model.terrain import Terrain

SPOTS = [(0, 0), (20, 0), (20, 10), (0, 10), (7, 4)]


def plane(points):
    points = np.asarray(points, dtype=float)
    return 3.0 + 0.08 * points[:, 0] - 0.05 * points[:, 1]


def test_no_spot_is_level_and_one_spot_is_level():
    assert Terrain([], [], level=4.0).height([(1, 2), (30, 40)]).tolist() == [4.0, 4.0]
    assert Terrain([(5, 5)], [2.0]).height([(1, 2), (30, 40)]).tolist() == [2.0, 2.0]


def test_two_spots_give_an_even_fall_between_them_and_none_across():
    ground = Terrain([(0, 0), (0, 10)], [1.0, 3.0])
    assert ground.height([(0, 5), (8, 5), (0, -4), (0, 14)]) == pytest.approx([2.0, 2.0, 1.0, 3.0])


def test_spots_in_a_line_follow_each_other():
    ground = Terrain([(10, 10), (0, 0), (5, 5)], [0.0, 2.0, 2.0])
    assert ground.height([(2.5, 2.5), (7.5, 7.5), (7.5, 2.5)]) == pytest.approx([2.0, 1.0, 2.0])


@given(st.floats(0.5, 19.5), st.floats(0.5, 9.5))
def test_a_plane_is_met_exactly_with_its_slope(x, y):
    """Linear interpolation reproduces a plane; its steepest fall is the length of the gradient."""
    ground = Terrain(SPOTS, plane(SPOTS))
    assert ground.at(x, y) == pytest.approx(plane([(x, y)])[0])
    assert ground.slope([(x, y)])[0] == pytest.approx(np.hypot(0.08, 0.05))


@given(st.floats(-30, 50), st.floats(-30, 40))
def test_ground_off_the_spots_goes_on_from_their_edge_without_a_jump(x, y):
    ground = Terrain(SPOTS, plane(SPOTS))
    edge = (min(max(x, 0.0), 20.0), min(max(y, 0.0), 10.0))  # nearest point of the rectangle
    assert ground.at(x, y) == pytest.approx(plane([edge])[0], abs=1e-5)


def test_slope_of_a_bank():
    ground = Terrain([(0, 0), (10, 0), (0, 5), (10, 5), (0, 11), (10, 11)], [0, 0, 0, 0, 2.4, 2.4])
    assert ground.slope([(5, 8)])[0] == pytest.approx(2.4 / 6)
    assert ground.slope([(5, 2)])[0] == pytest.approx(0.0, abs=1e-9)


def test_a_crest_between_the_corners_of_a_path_is_seen():
    ground = Terrain([(0, 0), (10, 0), (5, 0), (0, 5), (10, 5), (5, 5)], [0, 0, 2, 0, 0, 2])
    assert ground.along([(0, 2), (10, 2)]).max() == pytest.approx(2.0)


def test_a_path_that_stays_in_one_place_has_the_height_there():
    ground = Terrain(SPOTS, plane(SPOTS))
    assert ground.along([(4, 3), (4, 3)]) == pytest.approx([plane([(4, 3)])[0]] * 2)


@pytest.mark.parametrize("count", [5, 60, 900])
def test_heights_inside_are_those_of_another_interpolation(count):
    rng = np.random.default_rng(count)
    spots, heights = rng.uniform(0, 40, (count, 2)), rng.normal(size=count)
    points = rng.uniform(-5, 45, (2000, 2))
    expected = LinearNDInterpolator(spots, heights)(points)
    inside = np.isfinite(expected)
    assert Terrain(spots, heights).height(points)[inside] == pytest.approx(expected[inside], abs=1e-12)


@pytest.mark.parametrize("turn", range(0, 90, 5))
@pytest.mark.parametrize(("columns", "rows"), [(4, 3), (6, 3), (6, 6)])
def test_spots_measured_in_a_turned_grid_hold(columns, rows, turn):
    """Along the straight edges of some of them Delaunay's triangulation has triangles without area."""
    x, y = np.meshgrid(3.0 * np.arange(columns), 3.0 * np.arange(rows))
    cosine, sine = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    spots = np.column_stack((cosine * x.ravel() - sine * y.ravel(), sine * x.ravel() + cosine * y.ravel()))
    rng = np.random.default_rng(turn)
    heights, points = rng.normal(size=len(spots)), rng.uniform(spots.min(axis=0), spots.max(axis=0), (500, 2))
    expected = LinearNDInterpolator(spots, heights)(points)
    inside = np.isfinite(expected)
    assert Terrain(spots, heights).height(points)[inside] == pytest.approx(expected[inside], abs=1e-9)
