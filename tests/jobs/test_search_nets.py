"""The least tree of many points, against that over every pair of them."""

import numpy as np
import pytest
from scipy.sparse.csgraph import minimum_spanning_tree

from rillwright.jobs.search.bound import net_length

CHANCE = np.random.default_rng(3)
SQUARES = np.array([(x, y) for x in range(12) for y in range(9)], dtype=float)


@pytest.mark.parametrize(
    "points",
    [CHANCE.uniform(0, 700, (300, 2)), SQUARES, np.vstack([SQUARES, SQUARES[:5]]), CHANCE.normal(0, 1e-3, (40, 2))],
    ids=["anywhere", "in squares", "some twice", "close together"],
)
def test_the_net_holds_the_least_tree(points):
    apart = np.linalg.norm(points[:, None] - points[None], axis=2)
    assert net_length(points) == pytest.approx(minimum_spanning_tree(np.maximum(apart, 1e-6)).sum(), rel=1e-6)
