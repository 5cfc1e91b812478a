"""The least water of a season against every programme of a week, and against a formulation of its own."""

from itertools import product

import numpy as np
import pytest

from rillwright.solvers.season import Points, Season, binding_points, foreseen, least_water, tried
from rillwright.solvers.season.points import kept_points

MM = 1e-3


def week(seed, zones, *, nights=(0, 2, 4, 6)):
    """Seven days under one or two zones at a few points; each night its own figure."""
    dice = np.random.default_rng(seed)
    need = dice.uniform(3, 7, (1, 7)) * MM
    rain = np.where(dice.random((1, 7)) < 0.2, 5 * MM, 0.0)
    slot = np.full((1, 7), -1)
    slot[0, list(nights)] = np.arange(len(nights))
    rate = dice.uniform(6, 12, (4, zones)) * MM / 3600
    rate[0, 0] *= 0.5
    if zones == 2:
        rate[1, 1] = 0.0
    return Season(need, rain, np.full((1, 7), 12 * MM), slot, start=6 * MM), Points(
        rate, np.array([1.0, 1.0, 0.8, 1.0])
    )


@pytest.mark.parametrize("seed", range(4))
def test_one_week_against_every_programme(seed):
    """Four nights, runs of 0 to 150 minutes by half hours: 6^4 programmes of one zone."""
    season, points = week(seed, 1)
    step, flow = 1800.0, 4e-4
    found = least_water(season, points, weight=np.full((4, 1), flow), hours=1e9, step=step)
    best = min(
        flow * sum(runs)
        for runs in product(np.arange(6) * step, repeat=4)
        if tried(season, points, np.array(runs)[:, None]).over(season).max() <= 1e-9
    )
    assert found.status == "optimal"
    assert found.cost == pytest.approx(best)
    assert tried(season, points, found.seconds).over(season).max() < 2e-5


@pytest.mark.parametrize("seed", range(3))
def test_two_zones_one_figure_for_the_week(seed):
    """The same run on all four nights, as a plain controller has it: every pair of runs tried."""
    season, points = week(seed, 2)
    season = Season(season.need, season.rain, season.limit, np.where(season.slot >= 0, 0, -1), start=season.start)
    flow, step = np.array([3e-4, 5e-4]), 300.0
    found = least_water(season, points, weight=4 * flow[None, :], hours=1e9, step=step)
    runs = np.arange(25) * step
    best = min(
        4 * float(np.array(pair) @ flow)
        for pair in product(runs, repeat=2)
        if tried(season, points, np.array([pair])).over(season).max() <= 1e-9
    )
    assert found.cost == pytest.approx(best)


def years(zones=3, days=60, count=3, seed=0):
    dice = np.random.default_rng(seed)
    need = dice.uniform(2, 6, (count, days)) * MM
    rain = np.where(dice.random((count, days)) < 0.25, dice.exponential(7, (count, days)), 0.0) * MM
    slot = np.where(np.arange(days) % 2 == 0, np.arange(days) // 30, -1)
    rate = dice.uniform(0, 12, (300, zones)) * MM / 3600
    return Season(need, rain, np.full((count, days), 14 * MM), np.tile(slot, (count, 1))), Points(rate, np.ones(300))


def test_with_foresight_each_night_its_own_agrees_with_the_sparse_programme():
    """Two formulations: rows added as they are broken, and depletion of every day as a variable."""
    season, points = years(days=40, count=2)
    flow = np.array([3e-4, 4e-4, 5e-4])
    for year in range(2):
        slot = np.where(season.slot[year] >= 0, np.cumsum(season.slot[year] >= 0) - 1, -1)
        one = Season(season.need[[year]], season.rain[[year]], season.limit[[year]], slot[None])
        own = binding_points(points)
        cut = least_water(one, own, weight=np.tile(flow, (one.slots, 1)), hours=1e9)
        assert cut.status == "optimal"
        assert cut.cost == pytest.approx(foreseen(one, own, flow=flow).water, rel=2e-3)


def test_binding_points_bind_for_all_others():
    """What keeps them keeps every point; and rates are rounded down only."""
    season, points = years()
    binding = binding_points(points)
    assert len(binding) < len(points) / 3
    found = least_water(season, binding, weight=np.ones((2, 3)), hours=1e9)
    assert tried(season, points, found.seconds).over(season).max() < 2e-5
    assert all((binding.rate <= row + 1e-15).all(axis=1).any() for row in points.rate)


def test_hours_that_do_not_suffice_are_short_by_the_least():
    """One zone, one point: what fits the hours is put on, and the shortfall is what then lacks."""
    season, _ = week(0, 1)
    season = Season(season.need, np.zeros((1, 7)), season.limit, np.where(season.slot >= 0, 0, -1), start=0.0)
    points = Points(np.array([[8 * MM / 3600]]), np.ones(1))
    found = least_water(season, points, weight=np.ones((1, 1)), hours=600.0)
    assert found.status == "short"
    assert found.seconds[0, 0] == pytest.approx(600.0)
    over = tried(season, points, np.array([[600.0]])).over(season).max()
    assert found.short.max() == pytest.approx(over, abs=2e-5)


def test_the_driest_of_each_lawn_are_left_out():
    relative = np.concatenate((np.linspace(0.1, 2.0, 100), np.linspace(0.5, 1.5, 40)))
    lawn = np.repeat([0, 1], (100, 40))
    points = Points(relative[:, None], np.ones(140))
    kept = kept_points(points, lawn=lawn, kept=0.9, relative=relative)
    assert len(kept) == 90 + 36
    assert kept.rate.min() == pytest.approx(relative[10])


@pytest.mark.parametrize("seed", range(3))
def test_the_last_round_may_be_the_one_that_keeps_the_limit(seed):
    """Given just the rounds that the search takes less the one that looks, it ends as proven all the same."""
    season, points = week(seed, 1)
    weight = np.full((4, 1), 4e-4)
    whole = least_water(season, points, weight=weight, hours=1e9)
    cut = least_water(season, points, weight=weight, hours=1e9, most_rounds=whole.rounds - 1)
    assert (cut.status, cut.cost) == (whole.status, whole.cost) == ("optimal", whole.cost)
    assert whole.rounds > 1
