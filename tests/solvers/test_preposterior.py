"""What a measurement would tell: against closed forms of the normal case, where everything is known."""

import math

import numpy as np
import pytest
from scipy import stats

from rillwright.solvers.preposterior import Candidate, Quantity, rank_measurements

COUNT = 4096
_EVEN = stats.qmc.Sobol(2, scramble=True, rng=np.random.default_rng(0)).random(COUNT)
TRUE, OTHER = stats.norm.ppf(_EVEN).T


def quantity(limit=None, values=TRUE, name="q"):
    return Quantity(name, "number", values, limit, None if limit is None else values >= limit)


def reading(error, *, of=TRUE, what="a reading"):
    return Candidate(what, "supply", of, np.full(COUNT, error))


@pytest.mark.parametrize("error", [0.3, 1.0, 3.0])
def test_the_band_narrows_as_that_of_a_normal_quantity(error):
    """Closed form: variances of the normal posterior, 1/(1 + 1/error²)."""
    (item,) = rank_measurements([reading(error)], [quantity()], seed=0)
    assert item.band_before == pytest.approx(2 * 1.6449, rel=0.02)
    assert item.band_after == pytest.approx(2 * 1.6449 / math.sqrt(1 + 1 / error**2), rel=0.05)


@pytest.mark.parametrize("error", [0.3, 1.0])
def test_the_chance_of_a_wrong_verdict_is_that_of_two_signs_apart(error):
    """Closed form: with the limit at the mean the verdict errs where posterior mean and truth differ in sign.

    Their correlation is r = 1/sqrt(1 + error²), and two normals differ in sign with the chance arccos(r)/π.
    """
    (item,) = rank_measurements([reading(error)], [quantity(limit=0.0)], seed=0)
    assert item.wrong_before == pytest.approx(0.5, abs=0.01)
    assert item.wrong_after == pytest.approx(math.acos(1 / math.sqrt(1 + error**2)) / math.pi, abs=0.02)


def test_what_says_nothing_of_a_quantity_narrows_nothing():
    (item,) = rank_measurements([reading(0.1, of=OTHER)], [quantity(limit=0.0)], seed=0)
    assert item.band_after > 0.95 * item.band_before
    assert item.wrong_after == pytest.approx(item.wrong_before, abs=0.03)


def test_the_sharper_reading_comes_first():
    ranked = rank_measurements([reading(2.0, what="blunt"), reading(0.5, what="sharp")], [quantity()], seed=0)
    assert [item.what for item in ranked] == ["sharp", "blunt"]


def test_a_quantity_near_its_limit_counts_more_than_one_far_from_it():
    near, far = quantity(limit=-1.0), quantity(limit=-12.0, values=OTHER, name="far")
    blunt, sharp = reading(1.0, what="of the near one"), reading(0.1, of=OTHER, what="of the far one")
    ranked = rank_measurements([sharp, blunt], [near, far], seed=0)
    assert [item.moves for item in ranked] == ["q", "far"]
    assert ranked[0].wrong_after < ranked[0].wrong_before


def test_far_from_every_limit_the_nearer_still_comes_first():
    near, far = quantity(limit=-6.0), quantity(limit=-9.0, values=OTHER, name="far")
    ranked = rank_measurements([reading(0.5, of=OTHER), reading(1.0)], [near, far], seed=0)
    assert [item.moves for item in ranked] == ["q", "far"]
    assert ranked[0].wrong_before == 0


def test_same_seed_same_ranking():
    candidates = [reading(1.0, what="a"), reading(1.0, of=OTHER, what="b")]
    first, again = (rank_measurements(candidates, [quantity(limit=0.5)], seed=4) for _ in range(2))
    assert first == again
