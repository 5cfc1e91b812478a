"""Heads far from the water entry: what the way to them takes is counted before zones are made, and again after."""

import math
from dataclasses import replace

import pytest

from rillwright.jobs import zoned
from rillwright.jobs.build import MARGIN, far_losses, with_pipes
from rillwright.jobs.zoned import drafted, may_serve_on_level, zone_room
from rillwright.solvers.sizing import Clash
from rillwright.solvers.zoning import make_zones
from tiny_yards import KIND, small_room, the_case

SHORT = 30e3  # [Pa]


@pytest.fixture(scope="module")
def draft():
    room = small_room(0)
    return with_pipes(drafted(room, make_zones(room.problem, effort=0.0), the_case()), the_case())


def rooms(draft, **more):
    """What each head's zone may draw, by head."""
    room = zone_room(
        draft.room.heads, KIND, case=the_case(), pipes=20e3, serves=may_serve_on_level, bands={"lawn": 1}, **more
    )
    return {head: flow for head, (flow, _) in room.capacity.items()}


def with_a_short_head(draft):
    """The draft as if its first head lacked pressure in the widest pipes; and that head."""
    zone = draft.zones[0]
    head = zone.heads[0]
    least = the_case().need(head, KIND, pipes=0.0).head_pressure
    clash = Clash("pressure", head.id, zone.id, least - SHORT, least)
    return replace(draft, pipework=replace(draft.pipework, clashes=(clash,))), zone, head


def test_no_loss_is_known_where_every_head_has_its_pressure(draft):
    assert far_losses(draft, the_case()) == {}


def test_a_short_head_needs_what_it_lacked_and_a_margin(draft):
    case = the_case()
    short, zone, head = with_a_short_head(draft)
    far = far_losses(short, case)
    flow, lost = sum(h.flow for h in zone.heads), far[head.id] / MARGIN
    need = case.need(head, KIND, pipes=0.0, far=lost).at(flow)
    assert need == pytest.approx(case.limits.cautious.pressure(flow + case.limits.reserve) + SHORT)
    entry = case.yard.water_entry.at
    metre = lost / math.dist(entry, head.at)
    assert all(far[h.id] == pytest.approx(metre * math.dist(entry, h.at)) for h in draft.room.heads if h != head)


def test_its_zone_may_draw_what_leaves_it_its_pressure(draft):
    """No more than before, and by the supply's curve just that."""
    case = the_case()
    short, zone, head = with_a_short_head(draft)
    far = far_losses(short, case)
    flow = rooms(draft, far={head.id: far[head.id]})[head.id]
    assert 0 < flow < sum(h.flow for h in zone.heads)
    need = case.need(head, KIND, pipes=20e3, far=far[head.id])
    assert need.at(flow) == pytest.approx(case.limits.cautious.pressure(flow + case.limits.reserve), rel=1e-4)


def test_the_widest_pipe_to_a_head_counts_before_any_pipe_is_laid(draft, monkeypatch):
    """In a small yard it takes less than the allowance; over a way a thousand times as long the farther get less."""
    near = rooms(draft)
    entry = the_case().yard.water_entry.at
    monkeypatch.setattr(zoned, "DETOUR", 1e-9)
    assert rooms(draft) == pytest.approx(near)
    monkeypatch.setattr(zoned, "DETOUR", 1e4)
    far = rooms(draft)
    by_way = sorted(draft.room.heads, key=lambda head: math.dist(entry, head.at))
    assert all(far[head.id] < near[head.id] for head in by_way)
    assert [far[head.id] for head in by_way] == sorted(far.values(), reverse=True)
