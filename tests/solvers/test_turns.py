"""Flow controls with a known stem: readings at a few settings, then the turns that are asked for."""

import numpy as np
import pytest

from plan_yards import CATALOGUE, planned, small_yard
from rillwright.errors import InputError
from rillwright.jobs.zone_models import start_model
from rillwright.solvers.certainty import draw_yard
from rillwright.solvers.startup import Fault, Gauge, simulate
from rillwright.solvers.supply import fit_supply
from rillwright.solvers.turns import Tried, _weights, set_turns

WIDE = 1.1e10  # [Pa/(m³/s)²] of an invented valve: 17 kPa at 20 gpm


@pytest.fixture(scope="module")
def world():
    plan = planned(small_yard())
    zone = max(plan.zones, key=lambda one: one.after_valve)
    model = start_model(plan, zone, CATALOGUE)
    fit = fit_supply(plan.yard, CATALOGUE)

    def drawn(count, seed):
        return draw_yard(plan.yard, fit=fit, heads=model.zone.heads, zones=[zone.id], seed=seed, count=count)

    nozzles = [CATALOGUE.nozzles[head.nozzle] for head in model.zone.heads]
    return model, drawn, [(n.lowest_pressure, n.highest_pressure) for n in nozzles]


def control(turns, stem, power):
    return WIDE * ((1 - turns / stem) ** -power - 1)


def reading(world, truth, row, turns, stem, power, dice):
    model = world[0]
    shown = simulate(model, truth, [Fault("valve not fully open", control=control(turns, stem, power))] * truth.count)
    flow = shown[row, 0] * (1 + 0.02 * dice.standard_normal())
    pressure = shown[row, 3] + 7e3 * dice.standard_normal()
    head = model.zone.heads[0].id
    return Tried(turns, (Gauge("flow", float(flow), 0.02 * float(flow)), Gauge(head, float(pressure), 7e3)))


def test_turns_are_learnt_and_the_zone_then_passes_its_target(world):
    model, drawn, bands = world
    dice, truth, yards = np.random.default_rng(2), drawn(8, 77), drawn(256, 1)
    widths, inside, off = [], 0, []
    for row in range(8):
        stem, power = dice.uniform(5, 10), dice.uniform(1.6, 2.4)
        tried = [reading(world, truth, row, 0.0, stem, power, dice)]
        first = set_turns(model, yards, tried, wide=WIDE, bands=bands)
        for _ in range(3):
            at = min(set_turns(model, yards, tried, wide=WIDE, bands=bands).turns[1], 0.9 * stem)
            tried.append(reading(world, truth, row, at, stem, power, dice))
        last = set_turns(model, yards, tried, wide=WIDE, bands=bands)
        widths.append((last.turns[2] - last.turns[0]) / (first.turns[2] - first.turns[0]))
        factor = control(min(last.turns[1], 0.98 * stem), stem, power)
        passes = simulate(model, truth, [Fault("valve not fully open", control=factor)] * 8)[row, 0]
        off.append(passes / model.zone.target - 1)
        inside += abs(off[-1]) < 0.10  # 20 % of pressure, the limit of NRCS CPS 442 (from memory), is 10 % of flow
    assert np.mean(widths) < 0.6
    assert inside >= 7, off


def test_no_heads_mist_and_none_thirst_inside_the_window(world):
    model, drawn, bands = world
    found = set_turns(model, drawn(256, 1), [], wide=WIDE, bands=bands)
    assert found.window[0] < found.target < found.window[1]
    for pressure, (low, high) in zip(found.pressures, bands, strict=True):
        assert low < pressure < high


def test_more_turns_for_less_flow(world):
    model, drawn, bands = world
    dice, truth = np.random.default_rng(4), drawn(2, 77)
    soft, firm = (
        set_turns(model, drawn(256, 1), [reading(world, truth, 0, 3.0, stem, 2.0, dice)], wide=WIDE, bands=bands)
        for stem in (12.0, 3.4)
    )
    assert soft.turns[1] > firm.turns[1]
    assert soft.whole[1] > firm.whole[1]


def test_readings_that_fit_nothing_are_refused(world):
    model, drawn, bands = world
    absurd = Tried(0.0, (Gauge("flow", 50 * model.zone.target, 1e-6),))
    with pytest.raises(InputError, match="look for a slip"):
        set_turns(model, drawn(256, 1), [absurd], wide=WIDE, bands=bands)


def test_readings_finer_than_the_draws_are_no_slip():
    logs = np.full((4, 100), -1e3)
    with pytest.raises(InputError, match="look for a slip"):
        _weights(logs, 2, "Z1")
    logs[1, :20] = 0.0  # twenty pairs fit as well as can be
    with pytest.raises(InputError, match="finer than the valves drawn"):
        _weights(logs, 2, "Z1")
    logs[1, :40] = 0.0
    assert _weights(logs, 2, "Z1")[1] == pytest.approx(40)


def test_readings_that_only_one_yard_comes_near_are_counted_as_one(world):
    """What one drawn yard shows wide open, to a billionth: every valve fits, but no other yard."""
    model, drawn, bands = world
    yards = drawn(256, 1)
    shown = simulate(model, yards, [Fault("valve not fully open", control=0.0)] * yards.count)[7]
    fine = Tried(0.0, (Gauge("flow", float(shown[0]), 1e-9 * float(shown[0])),))
    assert set_turns(model, yards, [fine], wide=WIDE, bands=bands).yards == pytest.approx(1.0)
    assert set_turns(model, yards, [], wide=WIDE, bands=bands).yards == pytest.approx(256)
