"""Zones of a large site made anew in part: where heads lack pressure, and nowhere else. The field is invented."""

from dataclasses import replace
from functools import cache

import pytest

from large_fields import case_of, heads
from rillwright.jobs.build import relaid, with_pipes
from rillwright.jobs.zoned import zone_system
from rillwright.jobs.zones_in_part import zoned_in_part


@cache
def field():
    """Heads of a field on a supply of which a zone gets four heads or five, and their zones."""
    case = case_of("1-1/2 in")
    draft = zone_system(heads(), "pressure vacuum breaker", case=case)
    assert len(draft.zones) > 3
    return case, draft


def sets(draft):
    return {frozenset(group.heads) for group in draft.zoning.groups}


def test_zones_away_from_the_short_head_stay_and_its_own_draws_less():
    case, draft = field()
    corner = max(draft.room.heads, key=lambda head: head.at)
    flow = next(sum(h.flow for h in zone.heads) for zone in draft.zones if corner in zone.heads)
    far = {corner.id: _way_that_leaves(0.7 * flow, corner, draft, case)}
    made = zoned_in_part(draft, [corner.id], case=case, far=far, pool=None)
    assert sorted(h for own in sets(made) for h in own) == sorted(head.id for head in draft.room.heads)
    gone = sets(draft) - sets(made)
    assert any(corner.id in own for own in gone)
    assert len(gone) <= 3
    assert {group.place for group in made.zoning.groups} <= {group.place for group in draft.zoning.groups}
    for zone in made.zones:
        assert sum(head.flow for head in zone.heads) <= zone.safe_flow * (1 + 1e-9)
    assert next(zone.safe_flow for zone in made.zones if corner in zone.heads) < 0.8 * flow
    count, cost = made.zoning.proofs
    assert count.bound <= count.value == len(made.zones)
    assert cost.value == pytest.approx(made.zoning.cost)


def test_zones_that_stay_keep_their_trenches_and_every_head_is_fed():
    case, draft = field()
    before = with_pipes(draft, case)
    corner = max(draft.room.heads, key=lambda head: head.at)
    flow = next(sum(h.flow for h in zone.heads) for zone in draft.zones if corner in zone.heads)
    far = {corner.id: _way_that_leaves(0.7 * flow, corner, draft, case)}
    again = zoned_in_part(before, [corner.id], case=case, far=far, pool=None)
    made = relaid(again, before, case)
    assert made.pipework.board is not None
    stayed = sets(draft) & sets(made)
    assert stayed
    for own in stayed:
        assert metres(made, own) == pytest.approx(metres(before, own))
    ends = {pipe.end for pipe in made.pipework.pipes}
    assert ends.issuperset(head.id for head in draft.room.heads)
    assert made.settled.expected.keys() == {zone.id for zone in made.zones}
    bare = replace(before, pipework=replace(before.pipework, board=None))
    assert relaid(again, bare, case) is None


def metres(draft, own):
    """Pipe [m] of the zone with such heads."""
    zone = next(zone.id for zone in draft.zones if {head.id for head in zone.heads} == own)
    return sum(pipe.length for pipe in draft.pipework.pipes if pipe.zone == zone)


def test_a_head_that_no_zone_can_feed_is_named():
    case, draft = field()
    corner = max(draft.room.heads, key=lambda head: head.at)
    far = {corner.id: _way_that_leaves(0.5 * corner.flow, corner, draft, case)}
    made = zoned_in_part(draft, [corner.id], case=case, far=far, pool=None)
    assert [clash.where for clash in made.zoning.clashes] == [corner.id]
    assert made.zoning.hard == 1


def _way_that_leaves(flow, head, draft, case):
    """What a way takes [Pa/(m³/s)²] so that the head's zone may draw so much and no more."""
    need = case.need(head, draft.kind, pipes=20e3)
    spare = case.limits.cautious.pressure(flow + case.limits.reserve) - need.at(flow)
    assert spare > 0
    return spare / flow**2
