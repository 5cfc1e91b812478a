"""Which lawns are watered as one, on two invented lawns side by side."""

import pytest

from coverage_yards import ground_of, rectangle, yard_of

LEFT = {"id": "left", "kind": "lawn", "outline": rectangle(0, 0, 8, 8)}
RIGHT = {"id": "right", "kind": "lawn", "outline": rectangle(8, 0, 8, 8)}
LEVEL = [{"at": at, "height": 0.0} for at in ((0, 0), (0, 8), (8, 0), (8, 8))]
BANK = [{"at": at, "height": 1.6} for at in ((16, 0), (16, 8))]


def lawns(*areas, **more):
    return ground_of(yard_of([*areas], **more))


def test_lawns_that_share_an_edge_and_are_alike_are_one():
    ground = lawns(LEFT, RIGHT)
    assert list(ground.lawns) == ["left and right"]
    assert ground.lawns["left and right"].equals(ground.each_lawn["left"].union(ground.each_lawn["right"]))
    assert {name: shape.area for name, shape in ground.each_lawn.items()} == {"left": 64, "right": 64}


def test_a_hair_between_them_is_closed_and_nothing_else_is_covered():
    ground = lawns(LEFT, RIGHT | {"outline": rectangle(8.015, 0, 8, 8)})
    (shape,) = ground.lawns.values()
    assert shape.geom_type == "Polygon"
    assert shape.area == pytest.approx(128 + 0.015 * 8, abs=1e-6)


def test_three_in_a_row_are_one_and_come_in_the_order_of_the_file():
    far = {"id": "far", "kind": "lawn", "outline": rectangle(16, 0, 8, 8)}
    shade = {"id": "apart", "kind": "lawn", "outline": rectangle(0, 30, 8, 8)}
    assert list(lawns(shade, far, LEFT, RIGHT).lawns) == ["apart", "far and left and right"]


@pytest.mark.parametrize(
    "right",
    [
        {"exposure": "shade"},
        {"planting": "meadow"},
        {"head_classes": ["spray"]},
        {"outline": rectangle(9, 0, 8, 8)},
        {"outline": rectangle(8, 8, 8, 8)},
        {"outline": rectangle(8, 7.2, 8, 8)},
        {"outline": rectangle(8, 0, 2.5, 8)},
    ],
    ids=["exposure", "planting", "classes", "a gap", "a corner", "too short an edge", "a strip"],
)
def test_unlike_lawns_and_those_that_hardly_touch_stay_apart(right):
    assert list(lawns(LEFT, RIGHT | right).lawns) == ["left", "right"]


def test_a_bank_stays_apart_from_level_ground():
    assert list(lawns(LEFT, RIGHT, spots=[*LEVEL, *BANK]).lawns) == ["left", "right"]


def test_heads_of_unlike_classes_in_the_ground_keep_lawns_apart():
    yard = yard_of([LEFT, RIGHT])
    old = {"id": "a", "at": (2, 2), "head_class": "spray"}
    for other, names in (("spray", ["left and right"]), ("rotary", ["left", "right"])):
        heads = [old, {"id": "b", "at": (12, 2), "head_class": other}]
        existing = type(yard.existing).model_validate({"heads": heads})
        assert list(ground_of(yard.model_copy(update={"existing": existing})).lawns) == names
