"""Zones started with known faults; the odds against a sum over thousands of drawn yards."""

from dataclasses import replace

import numpy as np
import pytest

from plan_yards import CATALOGUE, planned, small_yard
from rillwright.jobs.zone_models import start_model
from rillwright.solvers.certainty import draw_yard
from rillwright.solvers.startup import (
    BEFORE,
    CAUSES,
    ENTRY,
    FLOW,
    VALVE,
    Fault,
    Gauge,
    Look,
    clogged,
    diagnose,
    forecast,
    simulate,
    throttled,
)
from rillwright.solvers.startup.diagnosis import _information
from rillwright.solvers.supply import fit_supply
from started_zones import started


@pytest.fixture(scope="module")
def plan():
    return planned(small_yard())


@pytest.fixture(scope="module")
def model(plan):
    return start_model(plan, plan.zones[0], CATALOGUE)


def drawn(plan, model, count, seed=1):
    fit = fit_supply(plan.yard, CATALOGUE)
    return draw_yard(plan.yard, fit=fit, heads=model.zone.heads, zones=[model.zone.id], seed=seed, count=count)


@pytest.fixture(scope="module")
def foretold(plan, model):
    return forecast(model, drawn(plan, model, 64), catalogue=CATALOGUE)


def exact(foretold, values):
    errors = {FLOW: 0.03 * values[0]}
    return [Gauge(c, float(v), float(errors.get(c, 14e3))) for c, v in zip(foretold.columns, values, strict=True)]


def first_four(foretold, values):
    gauges = exact(foretold, values)
    return [*gauges[:3], gauges[-1]]


def test_odds_before_measuring_add_up():
    assert sum(BEFORE.values()) == pytest.approx(1.0)
    assert set(BEFORE) == set(CAUSES)


def test_sound_zone_is_called_as_planned(foretold):
    found = diagnose(foretold, exact(foretold, foretold.mean[0]))
    assert found.odds[0][0] == "as planned"
    assert not found.strange


def test_shut_valve_shows_between_entry_and_valve(plan, model, foretold):
    truth = simulate(model, drawn(plan, model, 2, 9), [throttled(120e3, flow=model.zone.target)] * 2)[0]
    found = diagnose(foretold, first_four(foretold, truth))
    assert found.odds[0][0] == "valve not fully open"
    assert found.odds[0][1] > 0.9


@pytest.mark.parametrize(("kind", "nozzle"), [("nozzle clogged", 0.1), ("head broken or missing", 6.0)])
def test_odds_agree_with_a_sum_over_drawn_yards(plan, model, foretold, kind, nozzle):
    """Without the normal law of the forecast and without its steps: yards and severities drawn anew, 4096 a place."""
    yards = drawn(plan, model, 4096, 21)
    fault = Fault(kind, model.zone.heads[0].id, nozzle=nozzle)
    gauges = first_four(foretold, simulate(model, drawn(plan, model, 2, 9), [fault] * 2)[0])
    columns = [foretold.columns.index(g.column) for g in gauges]
    read, error = np.array([g.value for g in gauges]), np.array([g.error for g in gauges])
    places = {}
    for fault in foretold.faults:
        places.setdefault(fault.cause, {}).setdefault(fault.where, []).append(fault)
    apart = {}
    for cause, by_place in places.items():
        means = []
        for faults in by_place.values():
            rows = [between(faults, share) for share in np.random.default_rng(3).random(4096)]
            shown = simulate(model, yards, rows)[:, columns]
            means.append(np.exp(-0.5 * (((shown - read) / error) ** 2).sum(axis=1)).mean())
        apart[cause] = BEFORE[cause] * np.mean(means)
    whole = sum(apart.values())
    for cause, odds in diagnose(foretold, gauges).odds:
        assert odds == pytest.approx(apart[cause] / whole, abs=0.08), cause


def between(faults, share):
    """A fault between two steps of one severity, at a share of the way from the first fault of a place to the last."""
    step, rest = divmod(share * (len(faults) - 1), 1)
    low, high = faults[int(step)], faults[min(int(step) + 1, len(faults) - 1)]
    if low.words != high.words or low.cause == "wrong nozzle":
        return low
    names = ("nozzle", "leak", "control", "static", "loss", "rough")
    return replace(low, **{name: (1 - rest) * getattr(low, name) + rest * getattr(high, name) for name in names})


@pytest.mark.parametrize("factor", np.geomspace(2.5, 40.0, 7))
def test_head_that_was_seen_broken_is_named_however_far_it_is_open(plan, model, foretold, factor):
    """Between the steps of the severity too, and with gauges much finer than the steps."""
    head = model.zone.heads[0].id
    fault = Fault("head broken or missing", head, nozzle=float(factor))
    truth = simulate(model, drawn(plan, model, 2, 9), [fault] * 2)[0]
    fine = [replace(gauge, error=0.2 * gauge.error) for gauge in exact(foretold, truth)]
    looks = [Look("walk while it runs", "gushing", head), Look("nozzle in the hand", "broken or missing", head)]
    for gauges in (first_four(foretold, truth), exact(foretold, truth), fine):
        found = diagnose(foretold, gauges, looks)
        assert found.places[0][:2] == ("head broken or missing", head)
        assert found.odds[0][1] > 0.9
        assert not found.strange


def test_information_agrees_with_counting():
    """Two causes, two outcomes: I = sum p log2 p(outcome | cause) / p(outcome), by hand."""
    chance = np.array([[0.9, 0.1], [0.2, 0.8]])
    odds, label = np.array([0.5, 0.5]), np.array([0, 1])
    by_hand = 0.5 * (
        0.9 * np.log2(0.9 / 0.55) + 0.1 * np.log2(0.1 / 0.45) + 0.2 * np.log2(0.2 / 0.55) + 0.8 * np.log2(0.8 / 0.45)
    )
    assert _information(chance, odds, label) == pytest.approx(by_hand)
    assert _information(np.array([[0.5, 0.5], [0.5, 0.5]]), odds, label) == pytest.approx(0.0, abs=1e-12)


def test_nozzle_in_the_hand_settles_clogged_against_wrong(plan, model, foretold):
    head = model.zone.heads[0].id
    truth = simulate(model, drawn(plan, model, 2, 9), [clogged(head, share=0.6)] * 2)[0]
    gauges = exact(foretold, truth)
    seen = diagnose(foretold, gauges, [Look("nozzle in the hand", "another nozzle", head)])
    told = diagnose(foretold, gauges, [Look("nozzle in the hand", "clogged", head)])
    assert dict(seen.odds)["wrong nozzle"] > dict(diagnose(foretold, gauges).odds)["wrong nozzle"]
    assert dict(told.odds)["nozzle clogged"] > dict(seen.odds)["nozzle clogged"]


def test_readings_that_nothing_explains_are_called_strange(foretold):
    values = foretold.mean[0].copy()
    values[1:3] = 20e3, 900e3  # more behind the valve than at the entry
    assert diagnose(foretold, exact(foretold, values)).strange


def test_asked_reading_is_not_one_already_taken(foretold):
    gauges = exact(foretold, foretold.mean[0])
    found = diagnose(foretold, gauges)
    assert not {ask.at for ask in found.asks if ask.what == "gauge"} & {gauge.column for gauge in gauges}
    assert ENTRY in foretold.columns
    assert VALVE in foretold.columns


def test_right_cause_comes_first_once_what_the_tool_asks_for_is_measured(plan):
    """70 faults of every cause; the table over hundreds in unlike yards is printed by benchmarks/startup.py."""
    cases = [case for zone in plan.zones for case in started(plan, zone, CATALOGUE, count=70, seed=5)]
    shown = [case.ranks[-1] for case in cases if case.shows]
    assert len(shown) >= 35
    assert np.mean([rank == 0 for rank in shown]) >= 0.8
    assert np.mean([rank < 2 for rank in shown]) >= 0.95
