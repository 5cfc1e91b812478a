"""Dates of frost: seasons cut from a record, quantiles with their band, and parts through nights."""

import numpy as np
import pytest

from rillwright.model.winter_tables import load_winter
from rillwright.physics.frost import DAY, MELTING
from rillwright.solvers.cold_bodies import clear_sky_drop, exposed_body, harmed_days, harmful_low, one_night
from rillwright.solvers.freeze_dates import RISK, split_seasons, turning
from rillwright.solvers.frost import climate_of
from watered_plans import seattle_days as seattle

TABLES = load_winter()


def body(kind="pressure vacuum breaker", **changes):
    return exposed_body(kind, kind, TABLES.bodies[kind], **{"count": 1, "insulation": 0.0} | changes)


def test_four_years_of_days_hold_three_winters():
    days, low, high = seattle()
    seasons = split_seasons(days, low, high, southern=False)
    assert [str(season.start) for season in seasons] == ["2012-07-01", "2013-07-01", "2014-07-01"]
    assert all(len(season.days) in (365, 366) for season in seasons)
    south = split_seasons(days, low, high, southern=True)
    assert [str(season.start) for season in south] == [f"{year}-01-01" for year in (2012, 2013, 2014, 2015)]


def test_gaps_are_bridged_and_long_ones_leave_the_winter_out():
    days, low, high = seattle()
    low = low.copy()
    low[400:405] = np.nan  # within the winter of 2012
    assert len(split_seasons(days, low, high, southern=False)) == 3
    low[400:415] = np.nan
    assert len(split_seasons(days, low, high, southern=False)) == 2


def test_the_first_frost_is_that_of_the_record():
    """A bare part is harmed on about the first night that the record has below freezing, never long before it."""
    days, low, high = seattle()
    part = body()
    drop = clear_sky_drop(TABLES.bodies["pressure vacuum breaker"].diameter)
    for season in split_seasons(days, low, high, southern=False):
        first = int(np.flatnonzero(season.low <= MELTING)[0])
        ours = int(np.flatnonzero(harmed_days(part, low=season.low, high=season.high, drop=drop))[0])
        assert abs(ours - first) <= 3


def test_foam_and_mass_hold_longer():
    drop = clear_sky_drop(0.06)
    lows = [harmful_low(body(insulation=r), swing=10.0, drop=drop) for r in (0.0, 0.2, 0.4)]
    assert lows == sorted(lows, reverse=True)
    assert lows[0] > lows[-1] + 0.3
    small, large = body("atmospheric vacuum breaker"), body("reduced pressure zone")
    assert small.hours_to_harm < large.hours_to_harm
    cold, mild = (one_night(body(), low=MELTING + t, high=MELTING + 8, drop=drop) for t in (-6.0, 4.0))
    assert cold.harmed
    assert 0 < cold.hours < 18 * 3600
    assert not mild.harmed
    assert mild.ice == 0


def test_a_sample_with_a_known_quantile():
    """A normal sample of 40 years: mean 110, sd 12, the 5 % quantile 110 - 1.645 · 12 = 90.3 within its band."""
    dice = np.random.default_rng(4)
    inside = 0
    for _ in range(300):
        days = dice.normal(110.0, 12.0, 15)
        found = turning(list(days), first=True)
        inside += found.low <= 110 - 1.6449 * 12 <= found.high
    assert 0.86 <= inside / 300 <= 0.94  # a 90 % band, 300 samples: 1.7 % of standard error
    assert found.low < found.safe < found.high
    last = turning([-day for day in days], first=False)
    assert last.safe == pytest.approx(-found.safe)
    assert (last.low, last.high) == pytest.approx((-found.high, -found.low))


def test_a_long_record_is_counted_too():
    """Weibull's plotting positions: of 39 days the second stands at 2/40, 1 year in 20."""
    days = [100 + 2 * n for n in range(39)]
    assert turning(days, first=True).counted == pytest.approx(102)
    assert turning(days, first=False).counted == pytest.approx(days[-2])
    assert turning(days[:18], first=True).counted is None


def test_few_years_say_nothing_and_rare_harm_has_no_date():
    assert turning([100, 110], first=True).safe is None
    assert turning([None] * 20, first=True).harmed == 0
    rare = turning([100, 110, 120, *[None] * 70], first=True)
    assert RISK * 73 / 3 > 1
    assert rare.safe is None
    half = turning([100, 110, 120, 105, *[None] * 4], first=True)
    assert half.safe > turning([100, 110, 120, 105], first=True).safe  # 1 in 10 of those with harm


def test_design_winters():
    """UFC 3-130, from memory: the mean of the three coldest of thirty winters, or the coldest of ten."""
    winters = [(np.arange(3), np.array([MELTING - n, MELTING + 5, MELTING + 5])) for n in range(1, 31)]
    index = [climate_of(winters[:n], snow=0.0, source="test").design / DAY for n in (5, 10, 30)]
    assert index == pytest.approx([5, 10, 29])
    assert "too few" in climate_of(winters[:5], snow=0.0, source="test").design_is
