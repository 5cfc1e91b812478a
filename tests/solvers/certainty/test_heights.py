"""What survey and ground leave unknown of a height: against conditioning by hand, and against the ground itself."""

import numpy as np
import pytest
from scipy.spatial.distance import cdist

from rillwright.solvers.certainty.heights import (
    DATUM,
    NEIGHBOURS,
    REACH,
    SLOPE,
    UNEVEN,
    height_errors,
)

SPOTS = [(0.0, 0.0), (10.0, 0.0), (10.0, 12.0), (0.0, 12.0)]


def covariance(points, spots=SPOTS, errors=(0.03,) * 4):
    """Covariance of the draws: they are linear in their normal numbers, so it needs no sample."""
    drawn = height_errors(points, spots=spots, errors=errors, normal=np.eye(len(points)))
    return drawn.T @ drawn


def spread(points, spots=SPOTS, error=0.03):
    return np.sqrt(np.diag(covariance(points, spots, [error] * len(spots))))


def test_a_spot_is_known_to_about_its_survey_error_and_the_ground_between_less():
    at_spot, between, outside = spread([SPOTS[0], (5.0, 6.0), (25.0, 6.0)])
    assert 0.8 * 0.03 < at_spot <= 0.03
    assert at_spot < between < outside
    assert 0.04 < between < 0.12


def test_without_spots_datum_and_slope_are_unknown():
    near, far = spread([(0.0, 0.0), (20.0, 0.0)], spots=[])
    assert near == pytest.approx(far)  # both lie 10 m from their middle
    assert near == pytest.approx(np.sqrt(DATUM**2 + (SLOPE * 10) ** 2 + UNEVEN**2))


def test_one_spot_ties_the_datum_and_leaves_the_slope():
    near, far = spread([(0.5, 0.0), (20.0, 0.0)], spots=SPOTS[:1])
    assert near < 0.06
    assert far > SLOPE * 10


def test_a_second_look_at_a_spot_helps_as_two_independent_looks_do():
    """One more reading at the same place is one more equation: errors of 3 cm twice are one of 3/√2 cm."""
    once = covariance([(4.0, 4.0)], SPOTS + SPOTS[:1], [0.03] * 5)
    merged = covariance([(4.0, 4.0)], SPOTS, [0.03 / np.sqrt(2), 0.03, 0.03, 0.03])
    assert once[0, 0] == pytest.approx(merged[0, 0], rel=1e-4)  # the two spots are kept apart by a nugget


def test_covariance_is_what_regressing_simulated_ground_on_its_spots_leaves():
    """Oracle: least squares on 200 000 simulated grounds, no kriging formula; the residual is what is not known."""
    rng = np.random.default_rng(3)
    points = np.array([(5.0, 6.0), (14.0, 3.0), *SPOTS])
    middle = points - points[:2].mean(axis=0)
    apart = np.linalg.norm(points[:, None] - points[None], axis=2)
    root = np.linalg.cholesky(UNEVEN**2 * np.exp(-apart / REACH) + 1e-12 * np.eye(6))
    n = 200_000
    ground = DATUM * rng.standard_normal((n, 1)) + SLOPE * rng.standard_normal((n, 2)) @ middle.T
    ground += rng.standard_normal((n, 6)) @ root.T
    seen = ground[:, 2:] + 0.03 * rng.standard_normal((n, 4))
    left = ground[:, :2] - seen @ np.linalg.lstsq(seen, ground[:, :2], rcond=None)[0]
    known = covariance(points[:2])
    assert left.T @ left / n == pytest.approx(known, rel=0.03, abs=2e-5)


@pytest.mark.parametrize(
    ("heads", "spots", "variance", "correlation"), [(30, 8, 1e-4, 1e-4), (300, 25, 1e-3, 0.03), (300, 0, 1e-3, 0.03)]
)
def test_draws_have_the_covariance_of_kriging(heads, spots, variance, correlation):
    """Oracle: the dense formula, k(p, p) - k(p, s) (k(s, s) + diag(error²))⁻¹ k(s, p), by a general solver.

    Few points are drawn by all before them, which is exact but for the nugget; many by their nearest.
    """
    rng = np.random.default_rng(heads + spots)
    at, known = rng.uniform(0, 4 * heads**0.5, (heads, 2)), rng.uniform(0, 4 * heads**0.5, (spots, 2))
    errors = rng.uniform(0.01, 0.05, spots)
    assert (heads <= NEIGHBOURS) == (correlation < 0.01)

    def kernel(a, b):
        a, b = a - at.mean(axis=0), b - at.mean(axis=0)
        return DATUM**2 + SLOPE**2 * a @ b.T + UNEVEN**2 * np.exp(-cdist(a, b) / REACH)

    seen = kernel(known, known) + np.diag(errors**2)
    dense = kernel(at, at) - kernel(at, known) @ np.linalg.solve(seen, kernel(known, at)) if spots else kernel(at, at)
    off = (covariance(at, known, errors) - dense) / np.sqrt(np.outer(np.diag(dense), np.diag(dense)))
    assert np.abs(np.diag(off)).max() < variance
    assert np.abs(off).max() < correlation
