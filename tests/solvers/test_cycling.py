"""Yards on a well: the supply follows the pump's curve, the switch bounds it, and no word speaks of a street."""

import json
import re

import pytest

from plan_yards import CATALOGUE, EXAMPLES, planned
from rillwright.errors import YardError
from rillwright.exchange.yard_file import validated
from rillwright.model.cycling import LEAST_RUN
from rillwright.report.page import render_page
from rillwright.solvers.supply import cautious_curve, expected_curve, fit_supply

DOCUMENT = json.loads((EXAMPLES / "well.yard.json").read_text())


def with_well(**changes):
    entry = DOCUMENT["water_entry"]
    return DOCUMENT | {"water_entry": entry | {"well": entry["well"] | changes}}


def fitted(document):
    return fit_supply(validated(document, source="test"), CATALOGUE)


def test_the_fit_goes_through_the_pumps_points():
    """Unmeasured, the median runs through the maker's points less 3 m of 1-1/4 in pipe and its fittings."""
    curve = expected_curve(fitted(DOCUMENT | {"supply": []}))
    for point in DOCUMENT["water_entry"]["well"]["curve"]:
        flow, pressure = point["flow"] / 60000, point["pressure"] * 1e3
        assert curve.pressure(flow) == pytest.approx(pressure, abs=18e3)


def test_a_reading_at_a_flow_refines_the_curve():
    bare, read = (
        fitted(DOCUMENT | {"supply": supply})
        for supply in ([], [{"kind": "gauge at a flow", "pressure": 330, "flow": 39}])
    )
    flow = 39 / 60000
    assert expected_curve(read).pressure(flow) < expected_curve(bare).pressure(flow) - 40e3
    spread = [expected_curve(f).pressure(flow) - cautious_curve(f, 0.95).pressure(flow) for f in (bare, read)]
    assert spread[1] < spread[0]


def test_water_deep_in_the_well_takes_its_lift_off():
    deep = with_well(water_level=-20.5)  # the entry lies at -0.5 m
    bare, low = (fitted(d | {"supply": []}) for d in (DOCUMENT, deep))
    lost = expected_curve(bare).static - expected_curve(low).static
    assert lost == pytest.approx(999.1 * 9.80665 * 20, rel=0.03)


def test_a_plan_on_a_well_counts_on_cut_in_and_cycles_in_closed_form():
    plan = planned(DOCUMENT)
    assert plan.verdict == "fits"
    assert plan.supply.expected.cap < 280e3
    assert all(zone.entry_pressure <= plan.supply.expected.cap * 1.0001 for zone in plan.zones)
    assert [one.zone for one in plan.cycling] == [zone.id for zone in plan.zones]
    assert plan.regulation.static == 420e3
    assert not plan.regulation.by_code
    assert plan.regulation.lets_through is None
    rise = 999.1 * 9.80665 * 2
    assert all(420e3 - rise < s.standing < 420e3 + rise for s in plan.surges if s.role == "main")
    for one in plan.cycling:
        assert one.at_cut_in > one.at_cut_out
        if one.flow < one.at_cut_out:
            assert one.per_hour == pytest.approx(
                3600 * one.flow * (one.pump_flow - one.flow) / (one.pump_flow * one.drawdown)
            )
        else:
            assert one.per_hour == 0


def test_a_small_tank_wears_the_pump_and_the_advice_mends_it():
    """Heads of half the flow on a tank of 10 L drawdown: the finding names a drawdown with which the pump rests."""
    small = with_well(drawdown=4, tank=None) | {"rules": {"house_use": "nothing"}}
    small["heads"] = {"allowed": ["rotary"]}
    del small["water_entry"]["well"]["tank"]
    plan = planned(small)
    found = [f for f in plan.findings if f.rule == "pump-cycling"]
    slow = [one for one in plan.cycling if one.runs is not None and one.runs < LEAST_RUN]
    assert bool(found) == bool(slow)
    assert slow
    wanted = max(one.drawdown_wanted for one in slow)
    again = with_well(drawdown=1e3 * wanted * 1.001) | {"heads": {"allowed": ["rotary"]}}
    del again["water_entry"]["well"]["tank"]
    assert not [f for f in planned(again).findings if f.rule == "pump-cycling"]


def test_no_word_speaks_of_a_street_or_a_meter():
    plan = planned(DOCUMENT | {"supply": []})
    words = " ".join(
        [*(f"{f.what} {f.do}" for f in plan.findings), *plan.supply.says, *plan.supply.cannot_say]
        + [m.what for m in plan.certainty.next_measurements]
    )
    page = re.sub(r"<[^>]+>", " ", render_page(plan, drawing="<svg >", depth_drawing=None).split("</style>")[1])
    for text in (words, page):
        assert not re.search(r"\b(streets?|meters?|supplier|town|reducing valve)\b", text, re.IGNORECASE)
    assert "static gauge" not in words


@pytest.mark.parametrize(
    ("document", "said"),
    [
        (with_well(cut_in=430), "must stop higher"),
        (with_well(cut_out=700), "would never stop"),
        (with_well(curve=[{"flow": 0, "pressure": 300}, {"flow": 9, "pressure": 400}]), "less pressure"),
        (with_well(drawdown=20), "both 'drawdown' and 'tank'"),
        (with_well(tank=None), "neither 'drawdown' nor 'tank'"),
        (with_well(tank={"volume": 100, "precharge": 300}), "over 'cut_in'"),
        (DOCUMENT | {"supply": [{"kind": "static gauge", "pressure": 400}]}, "reads the tank"),
        (DOCUMENT | {"supply": [{"kind": "meter reading", "volume": 50, "seconds": 90}]}, "beside a 'well'"),
        (DOCUMENT | {"water_entry": DOCUMENT["water_entry"] | {"meter": {"size": "3/4 in"}}}, "beside a 'well'"),
    ],
)
def test_what_a_well_cannot_be_is_told(document, said):
    with pytest.raises(YardError) as caught:
        validated(document, source="test")
    assert said in str(caught.value)
