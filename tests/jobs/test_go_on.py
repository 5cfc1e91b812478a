"""Planning on from an earlier plan: what can stay does. The yards are invented."""

import copy
import math

import pytest

from plan_yards import CATALOGUE, planned, rectangle, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.checks import inspect
from rillwright.jobs.go_on import start_from
from rillwright.jobs.move import Workbench
from rillwright.jobs.plan import make_plan
from rillwright.model.ground import resolve_ground


def two_zones():
    return small_yard(
        areas=[
            {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 18, 10)},
            {"id": "house", "kind": "building", "outline": rectangle(0, -4, 18, 4)},
        ],
        supply=[{"kind": "static gauge", "pressure": 420}, {"kind": "gauge at a flow", "pressure": 280, "flow": 12}],
        heads={"allowed": ["rotary"]},
    )


def gone_on(document, before, moves, **pins):
    """Heads moved to places [m] and pinned there, and the rest planned on from that."""
    bench = Workbench(before, CATALOGUE)
    for name, at in moves.items():
        bench.move(name, at=at)
    heads = [
        {"id": f"pin {name}", "at": list(at), "head_class": next(h for h in before.heads if h.id == name).head_class}
        for name, at in moves.items()
    ]
    yard = copy.deepcopy(document) | {"pins": {"heads": heads, **pins}}
    start = start_from(before, bench.plan.heads)
    return make_plan(validated(yard, source="test"), CATALOGUE, start=start)


def toward_middle(plan, head, share):
    middle = resolve_ground(plan.yard).lawns[head.lawn].centroid
    return (
        round(head.at[0] + share * (middle.x - head.at[0]), 3),
        round(head.at[1] + share * (middle.y - head.at[1]), 3),
    )


def test_a_head_moved_a_little_moves_no_other_and_no_zone():
    before = planned(two_zones())
    head = before.heads[0]
    at = toward_middle(before, head, 0.05)
    after = gone_on(two_zones(), before, {head.id: at})
    where = {h.id: h.at for h in after.heads}
    assert where == {h.id: h.at for h in before.heads} | {head.id: at}
    assert [set(zone.heads) for zone in after.zones] == [set(zone.heads) for zone in before.zones]
    assert [place.at for place in after.places] == [place.at for place in before.places]
    assert after.verdict != "does not fit"
    assert next(h for h in after.heads if h.id == head.id).pin == f"pin {head.id}"
    assert [f.rule for f in after.findings if f.rule in ("pin-given-up", "planned-on")] == ["planned-on"]
    assert not [f for f in inspect(after, resolve_ground(after.yard), CATALOGUE) if f.severity == "must"]


def test_nothing_moved_costs_no_more():
    """Same heads, zones and places: the search of the first plan can have saved on routes alone."""
    before = planned(two_zones())
    after = gone_on(two_zones(), before, {})
    assert {h.id: h.at for h in after.heads} == {h.id: h.at for h in before.heads}
    assert after.cost.total <= 1.05 * before.cost.total


def test_a_lawn_left_dry_gets_its_heads_near_the_moved_one_anew():
    before = planned(small_yard())
    head = before.heads[0]
    after = gone_on(small_yard(rules={"lowest_du": 0.6}), before, {head.id: toward_middle(before, head, 0.9)})
    moved = next(h for h in after.heads if h.id == head.id)
    assert moved.pin == f"pin {head.id}"
    lawn = after.lawns[0]
    bench = Workbench(before, CATALOGUE)
    worse = bench.move(head.id, at=moved.at).plan.lawns[0]
    assert worse.evenness.du < 0.6, "the move must leave a dry place, or this shows nothing"
    assert lawn.evenness.du > worse.evenness.du


def test_pinned_pipes_and_a_start_go_together():
    before = planned(two_zones())
    pipe = max((p for p in before.pipes if p.role == "lateral"), key=lambda p: p.length)
    pin = {"id": "P", "role": "lateral", "path": [list(p) for p in pipe.path]}
    after = gone_on(two_zones(), before, {}, pipes=[pin])
    own = [p for p in after.pipes if p.pin == "P"]
    assert sum(p.length for p in own) == pytest.approx(pipe.length, abs=0.1)
    assert {p.zone for p in own} == {pipe.zone}


def test_a_start_that_no_longer_suits_is_planned_from_nothing():
    before = planned(small_yard())
    document = small_yard(heads={"allowed": ["spray"]})
    assert {h.head_class for h in before.heads} != {"spray"}
    after = make_plan(validated(document, source="test"), CATALOGUE, start=start_from(before, before.heads))
    assert {h.head_class for h in after.heads} == {"spray"}
    assert after.start is None
    assert "planned-anew" in {finding.rule for finding in after.findings}


def test_a_plan_on_is_the_same_each_time():
    before = planned(small_yard())
    head = before.heads[-1]
    moves = {head.id: toward_middle(before, head, 0.1)}
    one, two = (gone_on(small_yard(), before, moves) for _ in range(2))
    assert one == two
    assert all(math.isfinite(h.flow) for h in one.heads)
