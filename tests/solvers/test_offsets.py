"""Offsets by tape: they lead back to the place, and their stated error is that of drawn tapes."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import least_squares

from rillwright.solvers.offsets import bearing, best_fix, best_wall, fix_error, mirrored, tape_error

HOUSE = [(0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0)]
WALLS = shapely.Polygon(HOUSE)
NOWHERE = shapely.Polygon()
AROUND = st.tuples(st.floats(-15, 25), st.floats(-15, 20))


def meet(points, distances, near):
    """Where two tapes meet, by least squares from a point near by: apart from how offsets are chosen."""
    found = least_squares(
        lambda p: [math.dist(p, point) - d for point, d in zip(points, distances, strict=True)], near, xtol=1e-14
    )
    return tuple(found.x)


@given(AROUND)
def test_the_tapes_meet_at_the_place(at):
    assume(WALLS.distance(shapely.Point(at)) > 0.3)
    fix = best_fix(at, HOUSE, walls=WALLS)
    if fix is None or fix.error > 0.5:
        return
    points = [HOUSE[fix.first], HOUSE[fix.second]]
    near = (at[0] + 0.02, at[1] - 0.02)
    assert math.dist(meet(points, fix.distances, near), at) < 1e-4
    other = mirrored(at, *points)
    assert [math.dist(other, point) for point in points] == pytest.approx(fix.distances)


@given(AROUND)
def test_no_pair_in_sight_is_better(at):
    assume(WALLS.distance(shapely.Point(at)) > 0.3)
    inner = WALLS.buffer(-0.05)
    seen = [p for p in HOUSE if not shapely.LineString((at, p)).intersects(inner)]
    errors = [fix_error(at, a, b) for n, a in enumerate(seen) for b in seen[n + 1 :]]
    fix = best_fix(at, HOUSE, walls=WALLS)
    if fix is None:
        assert all(math.isinf(error) for error in errors)
    else:
        assert fix.error == min(errors)


@pytest.mark.parametrize("at", [(5.0, -6.0), (14.0, 9.0), (-4.0, 3.0)])
def test_the_stated_error_is_that_of_drawn_tapes(at):
    """20,000 pairs of tapes with their own errors, met one by one: root mean square distance from the place."""
    fix = best_fix(at, HOUSE, walls=WALLS)
    points = np.array([HOUSE[fix.first], HOUSE[fix.second]])
    rng = np.random.default_rng(3)
    drawn = np.array(fix.distances) + rng.normal(size=(20_000, 2)) * [tape_error(d) for d in fix.distances]
    apart = np.linalg.norm(points[1] - points[0])
    x = (apart**2 + drawn[:, 0] ** 2 - drawn[:, 1] ** 2) / (2 * apart)
    y = np.sqrt(drawn[:, 0] ** 2 - x**2)
    along = (points[1] - points[0]) / apart
    square = np.array([-along[1], along[0]])
    if np.dot(np.array(at) - points[0], square) < 0:
        square = -square
    places = points[0] + x[:, None] * along + y[:, None] * square
    assert math.sqrt(((places - at) ** 2).sum(axis=1).mean()) == pytest.approx(fix.error, rel=0.03)


def test_circles_that_cross_square_are_best():
    """On Thales' circle over two corners the tapes cross at a right angle: error is the root of the squares' sum."""
    at = (5.0, -5.0)
    assert fix_error(at, (0.0, 0.0), (10.0, 0.0)) == pytest.approx(math.sqrt(2) * tape_error(math.sqrt(50)))
    assert math.isinf(fix_error((20.0, 0.0), (0.0, 0.0), (10.0, 0.0)))


def test_no_tape_goes_through_the_house():
    behind = best_fix((5.0, 9.0), HOUSE, walls=WALLS)
    assert {behind.first, behind.second} == {2, 3}
    assert best_fix((5.0, 3.0), HOUSE, walls=WALLS) is None  # inside
    assert best_fix((500.0, 3.0), HOUSE, walls=WALLS) is None  # out of reach
    assert best_fix((5.0, 9.0), HOUSE[:1], walls=NOWHERE) is None


def test_beside_a_wall_the_square_is_better_than_two_tapes():
    at = (4.0, -0.4)
    sides = list(zip(HOUSE, HOUSE[1:] + HOUSE[:1], strict=True))
    beside = best_wall(at, sides)
    assert (beside.wall, beside.along, beside.off) == (0, pytest.approx(4.0), pytest.approx(0.4))
    assert beside.error < best_fix(at, HOUSE, walls=WALLS).error / 3
    assert best_wall((-1.0, -1.0), sides) is None  # square off no wall
    assert best_wall((4.0, -9.0), sides) is None  # too far for a square


@pytest.mark.parametrize(
    ("end", "north", "wind"),
    [((0, 1), 90, "north"), ((1, 0), 90, "east"), ((-1, -1), 90, "south-west"), ((0, 1), 0, "west")],
)
def test_compass_directions(end, north, wind):
    assert bearing((0, 0), end, north=north)[0] == wind
