"""A zone in many draws: against single solves with nothing uncertain, and against what must follow from each spread."""

from dataclasses import fields, replace

import numpy as np
import pytest
from scipy.optimize import brentq

from certainty_yards import foretelling
from rillwright.model.parts import DeviceLoss
from rillwright.physics.units import GPM
from rillwright.solvers.certainty import draw_yard, run_zone
from rillwright.solvers.network import solve_network


@pytest.fixture(scope="module")
def case():
    """An invented yard, its fitted supply and its one zone, whose supply gives more than the control lets through."""
    yard, fit, model = foretelling(5, share=0.8)
    drawn = draw_yard(yard, fit=fit, heads=model.heads, zones=["Z1"], seed=0, count=64)
    return yard, fit, model, drawn


def certain(drawn, model):
    """The same draws with nothing but the network's own values."""
    one, none = np.ones(drawn.count), np.zeros(drawn.count)
    curve = model.network.supply
    supplies = replace(
        drawn.supplies,
        static=one * curve.static,
        loss=one * curve.factor * 1e-3**curve.exponent,
        exponent=one * curve.exponent,
    )
    return replace(
        drawn,
        supplies=supplies,
        roughness=one,
        fittings=one,
        devices=np.ones_like(drawn.devices),
        temperature=one * model.network.temperature,
        nozzle=dict.fromkeys(drawn.nozzle, one),
        rise=dict.fromkeys(drawn.rise, none),
        control=dict.fromkeys(drawn.control, one),
        house=dict.fromkeys(drawn.house, none),
    )


def test_with_nothing_uncertain_every_draw_is_the_single_solve(case):
    *_, model, drawn = case
    solved = run_zone(model, certain(drawn, model))
    single = solve_network(model.network)
    for k, head in enumerate(model.heads):
        assert solved.open_pressure[:, k] == pytest.approx(single.pressure[model.outlets[head.id]], rel=1e-4)


def test_the_control_lets_through_what_it_is_set_to(case):
    """Oracle: the loss of the control by root search on single solves."""
    *_, model, drawn = case
    solved = run_zone(model, certain(drawn, model))

    def flow(loss):
        control = DeviceLoss(loss / model.target**2)
        links = tuple(replace(k, device=control) if k.id == model.control else k for k in model.network.links)
        return solve_network(replace(model.network, links=links)).source_flow

    assert flow(0.0) > 1.1 * model.target  # the case is one in which the control has work to do
    exact = brentq(lambda loss: flow(loss) - model.target, 0.0, model.network.supply.static)
    assert flow(exact) == pytest.approx(model.target, rel=1e-6)
    assert solved.flow == pytest.approx(model.target, rel=0.01)


def test_a_zone_that_gives_less_than_its_control_is_set_to_stays_open(case):
    *_, model, drawn = case
    greedy = replace(model, target=5 * model.target)
    solved = run_zone(greedy, replace(drawn, house=dict.fromkeys(drawn.house, np.zeros(drawn.count))))
    assert solved.pressure == pytest.approx(solved.open_pressure, rel=1e-6)


def test_a_shower_takes_pressure_off_every_head(case):
    *_, model, drawn = case
    quiet = run_zone(model, replace(drawn, house={"Z1": np.zeros(drawn.count)}))
    showering = run_zone(model, replace(drawn, house={"Z1": np.full(drawn.count, 2.5 * GPM)}))
    assert (showering.pressure < quiet.pressure).all()
    assert showering.open_pressure == pytest.approx(quiet.open_pressure)  # set on a quiet day


def test_a_higher_head_gets_less_by_the_weight_of_the_water(case):
    *_, model, drawn = case
    level = certain(drawn, model)
    name = model.heads[-1].id
    lifted = replace(level, rise=level.rise | {name: np.full(drawn.count, 1.0)})
    lost = (run_zone(model, level).open_pressure - run_zone(model, lifted).open_pressure)[:, -1]
    assert (lost > 0.4 * 9797).all()  # the others take up some of its flow
    assert (lost < 9797).all()


def test_same_seed_same_draws_and_another_seed_others(case):
    yard, fit, model, drawn = case
    again = draw_yard(yard, fit=fit, heads=model.heads, zones=["Z1"], seed=0, count=64)
    other = draw_yard(yard, fit=fit, heads=model.heads, zones=["Z1"], seed=1, count=64)
    for field in fields(drawn):
        same, mine, theirs = (getattr(d, field.name) for d in (again, drawn, other))
        if isinstance(mine, np.ndarray):
            assert np.array_equal(mine, same)
            assert not np.array_equal(mine, theirs)
    assert np.array_equal(drawn.rise["H0"], again.rise["H0"])


def test_draws_have_the_spreads_that_the_page_says():
    yard, fit, model = foretelling(5, share=0.8)
    drawn = draw_yard(yard, fit=fit, heads=model.heads, zones=["Z1"], seed=0, count=2048)
    assert np.log(drawn.roughness).std() == pytest.approx(1.0, rel=0.02)
    assert np.median(drawn.fittings) == pytest.approx(1.2, rel=0.01)
    assert drawn.nozzle["H0"].std() == pytest.approx(0.05, rel=0.05)  # 3 % and 4 % together
    both = np.corrcoef(drawn.nozzle["H0"], drawn.nozzle["H1"])[0, 1]
    assert both == pytest.approx(0.36, abs=0.05)  # the chart's 3 % they share: 9 / 25
    assert (drawn.house["Z1"] > 0).mean() == pytest.approx(0.05, abs=0.015)
    assert drawn.control["Z1"].std() == pytest.approx(0.03, rel=0.05)
    assert np.median(drawn.supplies.flow(2e5)) == pytest.approx(np.median(fit.flows(2e5)), rel=0.01)


def behind(model, link, **changes):
    """The model with a regulator of 250 kPa on its first link, or on the link named."""
    links = [replace(k, device=None, regulated_to=250e3) if k.id == link else k for k in model.network.links]
    return replace(model, network=replace(model.network, links=tuple(links)), **changes)


def first_link(model):
    return next(k.id for k in model.network.links if k.start == model.network.source)


def with_regulators(drawn, **factors):
    named = {name.replace("_", " "): np.full(drawn.count, factor) for name, factor in factors.items()}
    return replace(drawn, regulator=named)


def test_a_regulator_set_too_high_is_a_regulator_set_higher(case):
    *_, model, drawn = case
    level = certain(drawn, model)
    model = behind(model, first_link(model), cap=250e3)
    high = run_zone(model, with_regulators(level, water_entry=1.1))
    links = [replace(k, regulated_to=k.regulated_to and 275e3) for k in model.network.links]
    higher = replace(model, cap=275e3, network=replace(model.network, links=tuple(links)))
    again = run_zone(higher, with_regulators(level, water_entry=1.0))
    assert high.pressure == pytest.approx(again.pressure)
    assert high.open_pressure == pytest.approx(again.open_pressure)
    low = run_zone(model, with_regulators(level, water_entry=0.9))
    assert (low.open_pressure < high.open_pressure).all()


def test_a_regulator_in_a_head_strays_by_itself(case):
    *_, model, drawn = case
    level, first = certain(drawn, model), model.heads[0].id
    least = float(run_zone(model, level).pressure.min())
    held = replace(model, held={head.id: 0.8 * least for head in model.heads}, control=None)
    strays = with_regulators(level, **{head.id: 1.0 for head in model.heads} | {first: 1.1})
    found = run_zone(held, strays).pressure
    assert found[:, 0] == pytest.approx(0.88 * least, rel=1e-6)
    assert found[:, 1:] == pytest.approx(0.8 * least, rel=1e-6)


def test_a_pump_that_cycles_stands_from_cut_in_to_cut_out(case):
    """At the moment of cut-in it is the plan's own cap, at cut-out a cap there; a pump that runs on keeps its curve."""
    *_, model, drawn = case
    level = with_regulators(certain(drawn, model), water_entry=1.0)
    pumped = behind(model, first_link(model), cap=250e3, cut_out=300e3, control=None)

    def at(moment, model=pumped):
        return run_zone(model, replace(level, moment={"Z1": np.full(level.count, moment)})).pressure

    street = behind(model, first_link(model), cap=250e3, control=None)
    assert at(0.0) == pytest.approx(at(0.7, street))
    assert (at(0.5) > at(0.0)).all()
    assert (at(1.0) > at(0.5)).all()
    cannot = replace(pumped, target=5 * model.target, cut_out=0.95 * model.network.supply.static)
    assert (level.supplies.pressure(cannot.target) < cannot.cut_out).all()
    assert at(0.0, cannot) == pytest.approx(at(1.0, cannot))
