"""Flow controls with a known stem: readings at a few settings, then the turns that are asked for."""

from dataclasses import replace

import numpy as np
import pytest

from plan_yards import CATALOGUE, planned, small_yard
from rillwright.errors import InputError
from rillwright.jobs.zone_models import start_model
from rillwright.solvers.certainty import draw_yard
from rillwright.solvers.startup import Fault, Gauge, simulate
from rillwright.solvers.stems import learnt_stems
from rillwright.solvers.supply import fit_supply
from rillwright.solvers.turns import Tried, set_turns

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
        first = last = set_turns(model, yards, tried, wide=WIDE, bands=bands)
        for _ in range(3):
            tried.append(reading(world, truth, row, min(last.turns[1], 0.9 * stem), stem, power, dice))
            last = set_turns(model, yards, tried, wide=WIDE, bands=bands)
        widths.append((last.turns[2] - last.turns[0]) / (first.turns[2] - first.turns[0]))
        factor = control(min(last.turns[1], 0.98 * stem), stem, power)
        passes = simulate(model, truth, [Fault("valve not fully open", control=factor)] * 8)[row, 0]
        off.append(passes / model.zone.target - 1)
        inside += abs(off[-1]) < 0.10  # 20 % of pressure, the limit of NRCS CPS 442 (from memory), is 10 % of flow
    assert np.mean(widths) < 0.6
    assert inside >= 7, off


def test_turns_read_coarsely_tell_less_of_the_stem(world):
    model, drawn, bands = world
    dice, truth, yards = np.random.default_rng(5), drawn(8, 77), drawn(256, 1)
    wider = []
    for row in range(truth.count):
        fine = [reading(world, truth, row, turns, 7.0, 2.0, dice) for turns in (0.0, 5.5, 6.3)]
        bare, sharp, coarse = (
            set_turns(model, yards, [replace(one, error=error) for one in fine], wide=WIDE, bands=bands)
            for error in (0.0, 1e-6, 1.0)
        )
        assert sharp.turns == pytest.approx(bare.turns, abs=0.15)  # the draws are others, what they say is the same
        wider.append([spread(getattr(coarse, what)) / spread(getattr(bare, what)) for what in ("turns", "whole")])
    turns, whole = np.median(wider, axis=0)  # of eight yards: where the truth lies at a band's edge, it hides the error
    assert turns > 2
    assert whole > 1.3


def spread(band):
    return band[2] - band[0]


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


def test_readings_of_a_small_zone_are_answered_however_fine_they_are():
    """Meter to 0.5 %, gauges to 1 kPa, at six settings: the band of turns holds those that truly pass the target."""
    plan = planned(small_yard())
    zone = min(plan.zones, key=lambda one: (len(one.heads), one.flow))
    model = start_model(plan, zone, CATALOGUE)
    fit = fit_supply(plan.yard, CATALOGUE)
    truth, yards = (
        draw_yard(plan.yard, fit=fit, heads=model.zone.heads, zones=[zone.id], seed=seed, count=count)
        for seed, count in ((78, 4), (1, 256))
    )
    names = ("flow", "entry", "valve", *(head.id for head in model.zone.heads))
    dice, stem, power = np.random.default_rng(3), 6.2, 2.2
    tried = []
    for turns in (0.0, 2.0, 3.0, 4.0, 4.5, 5.0):
        fault = Fault("valve not fully open", control=control(turns, stem, power))
        shown = simulate(model, truth, [fault] * truth.count)[2]
        errors = [0.005 * float(shown[0]), *(1e3 for _ in names[1:])]
        read = shown + np.array(errors) * dice.standard_normal(len(errors))
        tried.append(Tried(turns, tuple(Gauge(n, float(v), e) for n, v, e in zip(names, read, errors, strict=True))))
    bands = [(n.lowest_pressure, n.highest_pressure) for n in (CATALOGUE.nozzles[h.nozzle] for h in model.zone.heads)]
    found = set_turns(model, yards, tried, wide=WIDE, bands=bands)
    assert found.effective > 100
    assert found.strain < 2
    assert found.turns[2] - found.turns[0] < 0.4
    faults = [Fault("valve not fully open", control=control(turns, stem, power)) for turns in found.turns]
    most, told, least = (simulate(model, truth, [fault] * truth.count)[2, 0] for fault in faults)
    assert least < model.zone.target < most
    assert told == pytest.approx(model.zone.target, rel=0.10)  # NRCS CPS 442, as above
    exact = Tried(5.0, tuple(Gauge(n, float(v), e / 100) for n, v, e in zip(names, shown, errors, strict=True)))
    assert set_turns(model, yards, [exact], wide=WIDE, bands=bands).effective > 100


def test_stems_are_weighed_as_a_known_likelihood_asks():
    """A reading of the stem's turns alone, in logarithms: normal times normal, from the textbooks."""

    def likelihood(stems):
        off = (np.log(stems.turns / 9.0) / 0.01) ** 2
        return -0.5 * off, off

    stems = learnt_stems(likelihood, wide=WIDE, seed=0)
    prior, reading = 1 / 0.35**2, 1 / 0.01**2
    mean = (prior * np.log(7.0) + reading * np.log(9.0)) / (prior + reading)
    logs = np.log(stems.turns)
    assert stems.weights @ logs == pytest.approx(mean, abs=1e-3)
    assert stems.weights @ (logs - mean) ** 2 == pytest.approx(1 / (prior + reading), rel=0.2)
    assert stems.weights @ stems.power == pytest.approx(2.0, abs=0.06)  # nothing was read of it
    assert stems.effective > 150
