"""Bands of the whole against closed forms that do not draw."""

import math

import numpy as np
import pytest
from scipy import stats

from rillwright.model.guide import Estimate, Work
from rillwright.model.labour import Rent
from rillwright.model.money import Spreads, ThreePoint
from rillwright.solvers.money import Digging, Fee, Priced, draw_totals

SURE = ThreePoint(low=1.0, likely=1.0, high=1.0)
NOTHING_LOST = ThreePoint(low=0.0, likely=0.0, high=0.0)
PRICES_ALONE = {"lost": NOTHING_LOST, "soil": SURE, "by_metre": SURE, "fees": SURE}
LINES = [Priced(40.0 + 17.0 * n, 0.05 + 0.02 * n, True) for n in range(12)]


def drawn(parts, *, spreads, digging=None, by_metre=(), fees=(), tax=0.0, draws=16384, seed=3):
    return draw_totals(
        parts, digging=digging, by_metre=by_metre, fees=fees, tax=tax, spreads=spreads, seed=seed, draws=draws
    )


def moments(parts, shop):
    """Exact mean and variance of a sum of log-normals that share one factor."""
    means = [p.due * math.exp((p.spread**2 + shop**2) / 2) for p in parts]
    variance = 0.0
    for i, a in enumerate(parts):
        for j in range(len(parts)):
            shared = shop**2 + (a.spread**2 if i == j else 0.0)
            variance += means[i] * means[j] * math.expm1(shared)
    return sum(means), variance


@pytest.mark.parametrize("shop", [0.0, 0.07, 0.2])
def test_prices_alone_have_the_moments_and_quantiles_of_a_sum_of_log_normals(shop):
    """Moments exact; quantiles by Fenton's match of moments (IRE Trans. CS-8 (1960) 57-67, from memory)."""
    total = drawn(LINES, spreads=Spreads(shop=shop, **PRICES_ALONE)).total
    mean, variance = moments(LINES, shop)
    assert total.mean() == pytest.approx(mean, rel=4 * math.sqrt(variance / len(total)) / mean)
    assert total.var() == pytest.approx(variance, rel=0.06)
    sigma = math.sqrt(math.log1p(variance / mean**2))
    middle = math.log(mean) - sigma**2 / 2
    for share in (0.1, 0.5, 0.9):
        fenton = math.exp(middle + sigma * stats.norm.ppf(share))
        assert np.quantile(total, share) == pytest.approx(fenton, rel=0.01)


def test_one_price_alone_has_the_exact_quantiles_of_its_log_normal():
    total = drawn([Priced(200.0, 0.3, False)], spreads=Spreads(shop=0.0, **PRICES_ALONE)).total
    for share in (0.1, 0.5, 0.9):
        assert np.quantile(total, share) == pytest.approx(200 * math.exp(0.3 * stats.norm.ppf(share)), rel=0.02)


def test_a_three_point_factor_has_pert_s_mean():
    """(low + 4 likely + high) / 6: Malcolm and others 1959, from memory."""
    metre = ThreePoint(low=0.9, likely=1.0, high=1.6)
    spreads = Spreads(**PRICES_ALONE | {"by_metre": metre})
    total = drawn([], spreads=spreads, by_metre=[Fee("trenches", 300.0)]).total
    assert total.mean() == pytest.approx(300 * (0.9 + 4 * 1.0 + 1.6) / 6, rel=1e-3)
    assert total.min() >= 270
    assert total.max() <= 480


def test_nothing_uncertain_gives_one_number_with_tax_on_parts_and_rent():
    work = Work(per="metre", ground="loam", quantity=100.0, each=Estimate(low=60, likely=60, high=60), source="test")
    digging = Digging([(work, 2)], fixed=3600.0, day=7 * 3600.0, rent=Rent(190.0, 650.0, "test"))
    sure = [Priced(100.0, 0.0, True), Priced(50.0, 0.0, False)]
    spreads = Spreads(shop=0.0, **PRICES_ALONE)
    totals = drawn(sure, spreads=spreads, digging=digging, fees=[Fee("permit", 30.0)], tax=0.1)
    assert set(np.unique(totals.kinds["rental"])) == {190.0}  # 100 min / 2 + 60 min fit into one day of 7 h
    assert np.allclose(totals.kinds["tax"], 0.1 * (150 + 190))
    assert np.allclose(totals.total, 150 + 190 + 30 + 34)


def test_rent_goes_up_by_whole_days_when_the_soil_is_bad():
    each = Estimate(low=200, likely=240, high=400)
    work = Work(per="metre", ground="clay", quantity=180.0, each=each, source="test")
    digging = Digging([(work, 2)], fixed=1800.0, day=7 * 3600.0, rent=Rent(190.0, 650.0, "test"))
    soil = ThreePoint(low=0.9, likely=1.0, high=2.5)
    kinds = drawn([], spreads=Spreads(**PRICES_ALONE | {"soil": soil}), digging=digging).kinds
    assert set(np.unique(kinds["rental"])) <= {190.0, 380.0, 570.0, 650.0}
    assert len(np.unique(kinds["rental"])) >= 2


def test_same_seed_same_draws():
    assert np.array_equal(drawn(LINES, spreads=Spreads()).total, drawn(LINES, spreads=Spreads()).total)
    assert not np.array_equal(drawn(LINES, spreads=Spreads()).total, drawn(LINES, spreads=Spreads(), seed=4).total)
