"""How far the ground may lie from the heights that the spots say.

Statement. Ground height is a random field: an unknown datum, an unknown even slope, and unevenness that two points
share the less the farther they lie apart,

    k(x, y) = DATUM² + SLOPE² (x·y) + UNEVEN² exp(-|x - y| / REACH)

seen at the spots with their survey errors. What is left of the field at other points, once the spots are known, is
C = k(p, p) - k(p, s) (k(s, s) + diag(error²))⁻¹ k(s, p). Source: kriging with a Bayesian trend, Rasmussen and Williams,
Gaussian Processes for Machine Learning (2006), sections 2.2 and 2.7 (from memory). The four scales are judgement.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.spatial.distance import cdist

__all__ = ["DATUM", "REACH", "SLOPE", "UNEVEN", "height_covariance"]

Floats = NDArray[np.float64]

DATUM = 1.0  # [m] between the ground and the entry, when no spot ties them together
SLOPE = 0.04  # [m/m]
UNEVEN = 0.12  # [m] 6 cm midway between two spots 10 m apart
REACH = 20.0  # [m]


def height_covariance(points: ArrayLike, *, spots: ArrayLike, errors: ArrayLike) -> Floats:
    """Covariance of the ground's error at points, given the spots.

    Parameters: points (n, 2) [m]; spots (s, 2) [m], may be none; errors (s,) [m], standard, above 0.
    Returns: (n, n) [m²].

    >>> float(height_covariance([(0.0, 0.0)], spots=[(0.0, 0.0)], errors=[0.03])[0, 0] ** 0.5) < 0.03
    True
    """
    at, known = (np.asarray(xy, dtype=float).reshape(-1, 2) for xy in (points, spots))
    middle = at.mean(axis=0)
    at, known = at - middle, known - middle
    own = _kernel(at, at)
    if len(known) == 0:
        return own
    across = _kernel(known, at)
    seen = cho_factor(_kernel(known, known) + np.diag(np.asarray(errors, dtype=float) ** 2))
    return np.asarray(own - across.T @ cho_solve(seen, across))


def _kernel(a: Floats, b: Floats) -> Floats:
    return np.asarray(DATUM**2 + SLOPE**2 * (a @ b.T) + UNEVEN**2 * np.exp(-cdist(a, b) / REACH))
