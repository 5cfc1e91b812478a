"""Which head of a plan a pin holds."""

from rillwright.model.pinned import held_head
from rillwright.model.plan import Head
from rillwright.model.site import PinnedHead

HEADS = [
    Head.model_construct(id=f"H{number}", at=at, head_class=kind)
    for number, (at, kind) in enumerate([((0.0, 0.0), "spray"), ((4.0, 0.0), "spray"), ((4.0, 3.0), "rotary")], start=1)
]


def held(x, y, kind="spray", heads=HEADS):
    return held_head(PinnedHead.model_validate({"id": "P", "at": [x, y], "head_class": kind}), heads)


def test_a_pin_holds_the_head_of_its_class_where_it_stands():
    assert held(0.1, 0) == 0
    assert held(4, -0.1) == 1
    assert held(4, 3, "rotary") == 2
    assert held(4, 3, "spray") is None
    assert held(0.2, 0) is None
    assert held(0, 0, heads=()) is None


def test_two_pins_that_may_stand_side_by_side_never_hold_one_head():
    """Pins stand 0.3 m apart or more."""
    for off in range(-30, 1):
        pair = [held(x / 100, 0) for x in (off, off + 30)]
        assert pair.count(0) < 2
