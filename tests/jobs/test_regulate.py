"""Pressure regulation: what codes ask for, what mists, and the cheapest remedy that works."""

from itertools import product

import pytest

from plan_yards import CATALOGUE, planned, small_yard
from rillwright.physics.units import PSI
from rillwright.report.workings import all_workings

HIGH = [{"kind": "static gauge", "pressure": 655}, {"kind": "gauge at a flow", "pressure": 560, "flow": 30}]
SPRAY = {"allowed": ["spray"]}


HILL = [{"at": [x, y], "height": 2 + 0.03 * y} for x in (0, 9) for y in (-4, 7)]


def loose(*allowed):
    """A yard over a supply that nobody measured: at the top of its band heads get far more than expected."""
    return planned(small_yard(supply=[], heads=SPRAY, spot_heights=HILL, regulation={"allowed": list(allowed)}))


def rules(plan):
    return {finding.rule: finding.severity for finding in plan.findings}


def part(plan, name):
    return next((line.quantity for line in plan.parts if line.part == name), 0)


def test_over_80_psi_a_pressure_reducing_valve_is_planned_and_bought():
    """95 psi at the entry; IPC 604.8 asks for the valve over 80 psi (from memory)."""
    plan = planned(small_yard(supply=HIGH))
    assert rules(plan)["static-pressure"] == "know"
    assert part(plan, "pressure reducing valve") == 1
    assert all(zone.entry_pressure <= 65 * PSI * (1 + 1e-9) for zone in plan.zones)
    assert max(surge.standing for surge in plan.surges if surge.role == "main") < 76 * PSI
    without = planned(small_yard(supply=HIGH, regulation={"allowed": ["valve", "head"]}))
    assert rules(without)["static-pressure"] == "should"
    assert part(without, "pressure reducing valve") == 0
    assert min(zone.entry_pressure for zone in without.zones) > 80 * PSI


def test_under_80_psi_nothing_is_bought():
    plan = planned(small_yard())
    assert plan.regulation.at is None
    assert not plan.regulation.fitted
    assert "static-pressure" not in rules(plan)


@pytest.mark.parametrize("at", ["source", "valve", "head"])
def test_heads_that_would_mist_are_held_at_the_place_allowed(at):
    plan = loose(at)
    regulation = plan.regulation
    mist = [zone for zone in regulation.zones if zone.by_hand > zone.limit]
    assert mist
    assert regulation.at == at
    assert "misting" not in rules(plan)
    heads = {zone.id: len(zone.heads) for zone in plan.zones}
    pieces = {"source": 1, "valve": len(mist), "head": sum(heads[zone.zone] for zone in mist)}[at]
    names = {"source": "pressure reducing valve", "valve": "regulator on a zone valve", "head": "regulator in a head"}
    assert part(plan, names[at]) == pieces
    laid_out = planned(small_yard(supply=[], heads=SPRAY, spot_heights=HILL))
    for zone, free in product(regulation.zones, laid_out.regulation.zones):
        assert zone.after <= zone.limit * 1.002
        assert zone.zone != free.zone or zone.by_hand == pytest.approx(free.by_hand, rel=1e-6)
    for working in all_workings(plan).values():
        if working.again is not None:
            assert working.again == pytest.approx(working.value, rel=1e-6, abs=1e-12), working.key


def test_the_search_weighs_what_regulation_costs():
    """On level ground longer pipes hold the pressure down: the search pays for them and saves the regulator.

    Beside the prices of the two, the first totals differ by adapters at the reducing valve.
    """
    dear, cheap = (
        planned(small_yard(supply=[], heads=SPRAY | {"aim": "most even"}, regulation={"allowed": [at]}))
        for at in ("source", "valve")
    )
    prices = [CATALOGUE.prices[name].price for name in ("pressure reducing valve", "regulator on a zone valve")]
    joined = dear.search[0].total - cheap.search[0].total - (prices[0] - prices[1])
    assert 0 <= joined <= 2 * max(one.price for name, one in CATALOGUE.prices.items() if name.startswith("adapter PVC"))
    assert dear.regulation.at is None
    assert dear.cost.total < dear.search[0].total


def test_the_cheapest_that_works_is_chosen():
    plan = loose("source", "valve", "head")
    costs = {option.at: option.cost for option in plan.regulation.options if option.works}
    assert len(costs) > 1
    assert plan.regulation.at == min(costs, key=costs.get)
    assert all(
        option.price == CATALOGUE.prices[name].price
        for option, name in zip(
            plan.regulation.options,
            ("pressure reducing valve", "regulator on a zone valve", "regulator in a head"),
            strict=True,
        )
    )


def test_with_no_place_allowed_the_mist_is_a_finding():
    plan = loose()
    assert plan.regulation.at is None
    assert rules(plan)["misting"] == "should"


@pytest.mark.parametrize("at", ["source", "valve", "head"])
def test_a_regulated_plan_is_drawn_as_it_is_regulated(at):
    """Its heads mist in next to no draw, and what the plan expects lies inside the bands of its draws."""
    plan = loose(at)
    for zone, drawn in zip(plan.zones, plan.certainty.zones, strict=True):
        assert min(head.not_too_much.value for head in drawn.heads) > 0.99
        assert drawn.flow.low < zone.flow < drawn.flow.high
        assert drawn.worst.low < zone.pressure_low * 1.001
        assert zone.pressure_high < drawn.best.high * 1.001
