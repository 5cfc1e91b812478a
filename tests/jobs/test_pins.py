"""What the user holds fast is in the plan, and the rest is planned round it. The yards are invented."""

import copy
import math

import pytest

from plan_yards import CATALOGUE, planned, rectangle, small_yard
from rillwright.exchange.check import problems_in
from rillwright.jobs.checks import inspect
from rillwright.jobs.held_zones import joined, parted
from rillwright.model.ground import resolve_ground
from rillwright.physics.units import to_system
from rillwright.solvers.zoning import HeadLoad, ZoneGroup, ZoneProblem, Zoning


def pinned(document, heads, zones=()):
    """The yard with heads of a plan pinned, each moved by (dx, dy) [m]."""
    system = document["units"]
    pins = []
    for number, (head, dx, dy, aim) in enumerate(heads, start=1):
        at = [to_system(value, "length", system) for value in (head.at[0] + dx, head.at[1] + dy)]
        pin = {"id": f"pin {number}", "at": at, "head_class": head.head_class}
        pins.append(pin | ({"arc_start": head.arc_start, "arc": head.arc} if aim else {}))
    return copy.deepcopy(document) | {"pins": {"heads": pins, "zones": list(zones)}}


def inward(plan, head, step):
    middle = resolve_ground(plan.yard).lawns[head.lawn].centroid
    return step * (middle.x - head.at[0]), step * (middle.y - head.at[1])


def test_pinned_heads_stand_where_they_are_held():
    document = small_yard()
    before = planned(document)
    one, two = before.heads[0], before.heads[-1]
    after = planned(pinned(document, [(one, *inward(before, one, 0.3), True), (two, *inward(before, two, 0.2), False)]))
    held = {head.pin: head for head in after.heads if head.pin}
    assert held.keys() == {"pin 1", "pin 2"}
    for pin in after.yard.pins.heads:
        assert held[pin.id].at == pin.at
    assert (held["pin 1"].arc_start, held["pin 1"].arc) == (one.arc_start % 360, one.arc)
    assert not [f for f in after.findings if f.rule == "pin-given-up"]
    assert len({head for zone in after.zones for head in zone.heads}) == len(after.heads)


def test_heads_pinned_together_share_a_zone():
    document = small_yard(
        areas=[
            {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 18, 10)},
            {"id": "house", "kind": "building", "outline": rectangle(0, -4, 18, 4)},
        ],
        supply=[{"kind": "static gauge", "pressure": 420}, {"kind": "gauge at a flow", "pressure": 280, "flow": 12}],
        heads={"allowed": ["rotary"]},
    )
    before = planned(document)
    assert len(before.zones) > 1
    pairs = [
        (math.dist(a.at, b.at), a, b)
        for a in before.heads
        for b in before.heads
        if a.hydrozone == b.hydrozone
        and a.head_class == b.head_class
        and not any({a.id, b.id} <= set(zone.heads) for zone in before.zones)
    ]
    _, one, two = max(pairs, key=lambda pair: pair[0])
    zone = {"id": "mine", "heads": ["pin 1", "pin 2"]}
    after = planned(pinned(document, [(one, 0, 0, False), (two, 0, 0, False)], [zone]))
    held = {head.pin: head.id for head in after.heads if head.pin}
    assert any(set(held.values()) <= set(zone.heads) for zone in after.zones)


def test_a_pin_that_the_plan_has_not_is_a_finding():
    before = planned(small_yard())
    document = pinned(small_yard(), [(before.heads[0], *inward(before, before.heads[0], 0.5), False)])
    with_pin = planned(document)
    bare = with_pin.model_copy(
        update={"heads": tuple(head.model_copy(update={"pin": None}) for head in with_pin.heads)}
    )
    assert "pin-given-up" in {f.rule for f in inspect(bare, resolve_ground(bare.yard), CATALOGUE)}


@pytest.mark.parametrize(
    ("change", "path"),
    [
        (lambda pins: pins["heads"][0].update(at=[-50, -50]), "pins.heads[0].at"),
        (lambda pins: pins["heads"][1].update(id="pin 1"), "pins.heads[1].id"),
        (lambda pins: pins["heads"][0].update(arc=90), "pins.heads[0]"),
        (lambda pins: pins["heads"][1].update(at=pins["heads"][0]["at"]), "pins.heads[1].at"),
        (lambda pins: pins["zones"][0].update(heads=["pin 1", "nobody"]), "pins.zones[0].heads[1]"),
    ],
)
def test_pins_that_cannot_be_are_told_at_their_place(change, path):
    plan = planned(small_yard())
    zone = {"id": "mine", "heads": ["pin 1", "pin 2"]}
    document = pinned(small_yard(), [(plan.heads[0], 0, 0, False), (plan.heads[-1], 0, 0, False)], [zone])
    assert problems_in(document, CATALOGUE) == ()
    change(document["pins"])
    assert path in {problem.path for problem in problems_in(document, CATALOGUE)}


def test_joined_heads_draw_together_and_part_again():
    loads = tuple(
        HeadLoad(name, (float(n), 0.0), float(n), 1e-4 * (n + 1), 1e-3 - 1e-4 * n, "lawn")
        for n, name in enumerate("abc")
    )
    problem = ZoneProblem(loads, (), {"V": frozenset("abc"), "W": frozenset("ab")}, 4, 0.0, 0.0, 0.0)
    one = joined(problem, (frozenset("ac"),))
    assert [load.id for load in one.loads] == ["a", "b"]
    first = one.loads[0]
    assert (first.flow, first.capacity, first.level) == pytest.approx((4e-4, 8e-4, 2.0))
    assert one.may_serve == {"V": {"a", "b"}, "W": {"b"}}
    zoning = Zoning((ZoneGroup(("a",), "V"), ZoneGroup(("b",), "W")), ("V", "W"), 0.0, (), "optimal")
    assert [group.heads for group in parted(zoning, (frozenset("ac"),)).groups] == [("a", "c"), ("b",)]
