"""Invented yards whose supply, pipes and nozzles are known; and the supply alone against its own fit."""

from dataclasses import replace

import numpy as np
import pytest

from plan_yards import CATALOGUE, planned, small_yard
from rillwright.jobs.zone_models import start_model
from rillwright.solvers.certainty import draw_yard
from rillwright.solvers.recalibrate import ZoneReading, recalibrate
from rillwright.solvers.startup import Fault, Gauge, simulate
from rillwright.solvers.supply import fit_supply


@pytest.fixture(scope="module")
def world():
    plan = planned(small_yard())
    fit = fit_supply(plan.yard, CATALOGUE)
    zones = [zone.id for zone in plan.zones]
    models = [start_model(plan, zone, CATALOGUE) for zone in plan.zones]

    def drawn(seed, count=256):
        return draw_yard(plan.yard, fit=fit, heads=plan.heads, zones=zones, seed=seed, count=count)

    return plan, fit, models, drawn


def row_of(draws, k):
    """One yard of many, twice."""
    return draws_of(draws, [k, k])


def draws_of(draws, rows):
    def taken(value):
        if isinstance(value, np.ndarray):
            return value[rows]
        if isinstance(value, dict):
            return {name: one[rows] for name, one in value.items()}
        return value.take(np.array(rows))

    return replace(draws, **{name: taken(getattr(draws, name)) for name in draws.__dataclass_fields__})


def read(model, yard, dice, *, slip=1.0):
    shown = simulate(model, yard, [Fault("as planned")] * 2)[0]
    places = ("flow", "entry", "valve", model.zone.heads[-1].id)
    values = [*shown[:3], shown[-1]]
    errors = [0.02 * shown[0], 7e3, 7e3, 7e3]
    noisy = [float(v + e * dice.standard_normal()) for v, e in zip(values, errors, strict=True)]
    noisy[2] *= slip
    return ZoneReading(model, tuple(Gauge(*one) for one in zip(places, noisy, map(float, errors), strict=True)))


def test_supply_alone_is_fitted_as_by_its_own_sampling(world):
    """Least squares and curvature here, importance sampling in solvers/supply: two ways to one posterior."""
    plan, fit, _, drawn = world
    found = recalibrate(fit, [], drawn(1), heads=plan.heads, booster=None)
    for pressure in (250e3, 350e3):
        ours = np.quantile(found.draws.supplies.flow(pressure), (0.05, 0.5, 0.95))
        theirs = np.quantile(fit.flows(pressure), (0.05, 0.5, 0.95))
        assert ours[1] == pytest.approx(theirs[1], rel=0.03)
        assert ours[2] - ours[0] == pytest.approx(theirs[2] - theirs[0], rel=0.35)


def test_nothing_read_of_zones_leaves_pipes_and_nozzles_as_they_were(world):
    plan, fit, _, drawn = world
    found = recalibrate(fit, [], drawn(1), heads=plan.heads, booster=None)
    for name in ("roughness", "fittings", "zone valve"):
        assert found.told[name] == pytest.approx(0.0, abs=1e-6)
    assert np.median(found.draws.roughness) == pytest.approx(1.0, rel=0.15)


def test_bands_hold_the_truth_and_grow_narrower(world):
    plan, fit, models, drawn = world
    truths, before, dice = drawn(33), drawn(1), np.random.default_rng(8)
    inside, narrower = [], []
    for k in range(16):
        yard = row_of(truths, k)
        found = recalibrate(fit, [read(m, yard, dice) for m in models], before, heads=plan.heads, booster=None, seed=k)
        for name in ("static", "chart", "fittings"):
            true, now, was = (of(name, one) for of, one in ((value, yard), (value, found.draws), (value, before)))
            low, high = np.quantile(now, (0.05, 0.95))
            inside.append(low <= true[0] <= high)
            narrower.append((high - low) / np.subtract(*np.quantile(was, (0.95, 0.05))))
    assert np.mean(inside) >= 0.8  # 90 % claimed, 48 bands
    assert np.mean(narrower) < 0.9


def value(name, draws):
    if name == "static":
        return draws.supplies.static
    if name == "chart":
        return next(iter(draws.chart.values()))
    return draws.fittings


def test_one_wild_reading_does_not_drag_the_rest(world):
    plan, fit, models, drawn = world
    dice, yard = np.random.default_rng(3), row_of(drawn(33), 2)
    good = [read(m, yard, dice) for m in models]
    wild = [read(models[0], yard, np.random.default_rng(3), slip=0.5), *good[1:]]
    one, two = (recalibrate(fit, zones, drawn(1), heads=plan.heads, booster=None) for zones in (good, wild))
    supply = len(fit.readings)
    assert abs(two.strays[supply + 2]) > 8  # the gauge behind the valve
    shift = np.median(two.draws.supplies.static) / np.median(one.draws.supplies.static) - 1
    assert abs(shift) < 0.03
