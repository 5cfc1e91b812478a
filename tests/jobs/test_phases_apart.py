"""Lawns in phases: no zone waters lawns of two phases, and what a split by lawns then costs."""

import pytest

from drawn_plans import CATALOGUE
from plan_yards import planned, two_lawns
from rillwright.errors import InputError
from rillwright.exchange.yard_file import validated
from rillwright.jobs.money import make_ledger, make_phases
from rillwright.jobs.money.lawns import lawns_of, said_phases, tied_zones, with_phases
from rillwright.model.ground import resolve_ground


def phases_of(plan, **asked):
    return make_phases(plan, CATALOGUE, make_ledger(plan), **asked)


def as_said(plan, document):
    """A plan whose yard's lawns have got phases since it was made."""
    return plan.model_copy(update={"yard": validated(document, source="test")})


def test_zones_mix_lawns_until_these_are_built_in_two_phases():
    mixed, apart = planned(two_lawns()), planned(two_lawns(front=1, back=2))
    assert max(map(len, lawns_of(mixed).values())) == 2
    assert all(len(lawns) == 1 for lawns in lawns_of(apart).values())
    assert len(apart.zones) > len(mixed.zones)
    assert {zone.hydrozone for zone in apart.zones} == {"sun, turf, level, phase 1", "sun, turf, level, phase 2"}
    assert not [finding for finding in apart.findings if finding.severity == "must"]
    assert apart.cost.total > mixed.cost.total
    zones = next(proof for proof in apart.proofs if proof.stage == "zones: fewest")
    assert zones.bound == zones.value == 2


def test_the_split_is_the_one_that_the_yard_says():
    plan = planned(two_lawns(front=2, back=1))
    phased = phases_of(plan)
    by_lawn = {lawn: zone for zone, (lawn,) in lawns_of(plan).items()}
    assert [phase.zones for phase in phased.given.phases] == [(by_lawn["lawn"],), (by_lawn["front"],)]
    assert phased.tied == ()
    assert phased.given.total >= phased.best.total - 0.01
    asked = phases_of(plan, given=[["front"]])
    assert asked.given.phases[0].zones == (by_lawn["front"],)


def test_a_plan_made_before_says_which_zones_are_tied():
    mixed = planned(two_lawns())
    plan = as_said(mixed, two_lawns(front=1, back=2))
    tied = tuple(zone for zone, lawns in lawns_of(mixed).items() if len(lawns) == 2)
    assert tied_zones(plan) == phases_of(plan).tied == tied
    assert phases_of(plan).given is None
    assert tied_zones(mixed) == ()
    with pytest.raises(InputError, match=r"it waters front and lawn.*--apart"):
        phases_of(mixed, given=[["front"], ["lawn"]])


def test_asking_for_phases_puts_every_lawn_in_one():
    plan = planned(two_lawns())
    yard = with_phases(plan, [["lawn"]])
    assert said_phases(yard) == [["lawn"], ["front"]]
    assert {area.phase for area in yard.areas if area.kind != "lawn"} == {None}
    for given, says in (([], "name the lawns"), ([["Z1"]], "none of this yard"), ([["lawn"], ["lawn"]], "named twice")):
        with pytest.raises(InputError, match=says):
            with_phases(plan, given)


def test_lawns_of_two_phases_that_touch_are_watered_each_for_itself():
    document = two_lawns()
    document["areas"][1]["outline"] = [[0, -4], [9, -4], [9, 7], [0, 7]]
    alike = resolve_ground(validated(document, source="test"))
    document["areas"][1]["phase"] = 2
    assert list(alike.lawns) == ["front and lawn"]
    assert list(resolve_ground(validated(document, source="test")).lawns) == ["front", "lawn"]
