"""How sure a plan says it is: against the plan's own numbers, and against facts that must matter.

One small yard is planned; what its owner knows is then changed under the same pipes and drawn again.
"""

import json
from dataclasses import replace

import numpy as np
import pytest

from plan_yards import CATALOGUE, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs import assemble
from rillwright.jobs.certainty import assess
from rillwright.jobs.checks.certainty import water_window, zones_sure
from rillwright.jobs.checks.inspection import Inspection
from rillwright.jobs.plan import make_plan
from rillwright.solvers.supply import fit_supply


@pytest.fixture(scope="module")
def made():
    """The plan of the small yard, with the draft and the case that it was assessed from."""
    kept = {}

    def keeping(plan, draft, *, case, **others):
        kept["draft"], kept["case"] = draft, case
        return assess(plan, draft, case=case, **others)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(assemble, "assess", keeping)
        plan = make_plan(validated(json.loads(json.dumps(small_yard())), source="test"), CATALOGUE)
    return plan, kept["draft"], kept["case"]


def told(made, **changes):
    """Certainty of the same pipes for an owner who knows something else, and the plan that says so."""
    plan, draft, case = made
    yard = validated(json.loads(json.dumps(small_yard(**changes))), source="test")
    fit = fit_supply(yard, CATALOGUE) if "supply" in changes else case.fit
    plan = plan.model_copy(update={"yard": yard})
    sure = assess(plan, draft, case=replace(case, yard=yard, fit=fit))
    return sure, Inspection(plan.model_copy(update={"certainty": sure}), case.ground, CATALOGUE)


def wide(band):
    return band.high - band.low


def test_every_zone_and_head_has_its_chances(made):
    plan, sure = made[0], made[0].certainty
    assert sure.draws >= 2000
    assert [zone.id for zone in sure.zones] == [zone.id for zone in plan.zones]
    for zone, drawn in zip(plan.zones, sure.zones, strict=True):
        assert tuple(head.id for head in drawn.heads) == zone.heads
        assert drawn.sound.value <= min(min(h.enough.value, h.not_too_much.value) for h in drawn.heads)
        assert sure.sound.value <= drawn.sound.value
        assert drawn.sound.value * sure.draws == pytest.approx(np.round(drawn.sound.value * sure.draws))


def test_the_plan_lies_inside_its_own_bands(made):
    plan = made[0]
    for zone, drawn in zip(plan.zones, plan.certainty.zones, strict=True):
        assert drawn.flow.low < zone.flow < drawn.flow.high
        assert drawn.worst.low < zone.pressure_low < drawn.best.high
        assert drawn.precipitation.median == pytest.approx(zone.precipitation, rel=0.05)


def test_the_same_case_is_as_sure_again(made):
    plan, draft, case = made
    assert assess(plan, draft, case=case) == plan.certainty


def test_a_supply_of_which_less_is_known_gives_wider_bands(made):
    guessed, _ = told(made, supply=[{"kind": "static gauge", "pressure": 450}])
    known = made[0].certainty
    assert wide(guessed.zones[0].open_worst) > 1.3 * wide(known.zones[0].open_worst)


def test_ground_that_nobody_measured_gives_wider_bands_and_asks_for_a_level(made):
    known, (guessed, _) = made[0].certainty, told(made, spot_heights=[])
    assert wide(guessed.zones[0].open_worst) > wide(known.zones[0].open_worst)

    def after_level(sure):
        level = next(m for m in sure.next_measurements if m.what.startswith("Height"))
        return level.band_after / level.band_before

    assert after_level(guessed) < 0.95 * after_level(known)


def test_a_control_set_by_eye_spreads_the_flow(made):
    by_eye, _ = told(made, valves={"control_set": "by eye"})
    assert wide(by_eye.zones[0].flow) > 1.3 * wide(made[0].certainty.zones[0].flow)


def test_a_supply_that_may_not_carry_its_heads_is_found_and_a_gauge_asked_for(made):
    sure, case = told(made, supply=[{"kind": "static gauge", "pressure": 240, "pressure_error": 30}])
    (found,) = [finding for finding in zones_sure(case) if finding.where == sure.zones[0].id]
    assert sure.zones[0].sound.value < 0.9
    first = sure.next_measurements[0]
    assert first.dimension == "pressure"
    assert first.wrong_after < first.wrong_before - 0.02
    assert first.what in found.do
    assert first.of == "supply"
    assert not list(zones_sure(Inspection(made[0], made[2].ground, CATALOGUE)))


def test_a_tight_window_is_found_and_one_that_nobody_stated_is_only_told(made):
    tight, case = told(made, watering={"hours": 1, "nights": 1})
    (found,) = water_window(case)
    assert found.severity == "should"
    assert tight.window.suffices.value < 0.9
    ample = tight.window.ample
    enough, case = told(made, watering={"hours": ample / 3600 / 3, "nights": 3})
    assert not list(water_window(case))
    assert enough.window.suffices.value == pytest.approx(0.9, abs=0.002)
    assert made[0].certainty.window.assumed
    assert not enough.window.assumed


def test_the_weeks_hours_are_need_over_rate(made):
    """Oracle: the run-time rule written out with the medians of everything."""
    plan = made[0]
    window, zones, lawn = plan.certainty.window, {zone.id: zone for zone in plan.zones}, plan.lawns[0]
    (even,) = plan.certainty.lawns
    multiplier = 1 / (0.4 + 0.6 * even.du.median)
    for zone, band in window.zone_needed.items():
        rate = zones[zone].precipitation * lawn.on_lawn / lawn.water * 0.92
        assert band.median == pytest.approx(0.033 * multiplier / rate, rel=0.03)
    assert window.needed.median >= 0.99 * sum(band.median for band in window.zone_needed.values())


def test_each_lawn_is_about_as_even_as_planned_less_what_building_takes(made):
    """The yard states no wind; nozzles as made and 3 points for tilt and wear are what is lost."""
    plan = made[0]
    (even,), (lawn,) = plan.certainty.lawns, plan.lawns
    assert lawn.evenness.du - 0.06 < even.du.median < lawn.evenness.du - 0.02
    assert even.du.low < even.du.median < even.du.high
    windy, _ = told(made, wind={"speed": 3.5})
    assert windy.lawns[0].du.low < even.du.low


def test_clay_stretches_the_night(made):
    clay, _ = told(made, soil={"texture": "clay"})
    assert clay.window.needed.median > 1.2 * made[0].certainty.window.needed.median


def test_without_zones_the_list_still_says_what_to_measure(made):
    plan, draft, case = made
    nowhere = assess(plan.model_copy(update={"zones": ()}), draft, case=case)
    assert nowhere.draws == 0
    assert nowhere.sound is None
    assert {item.dimension for item in nowhere.next_measurements} == {"flow"}
