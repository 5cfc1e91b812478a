import math

import pytest

from rillwright.model.ground import resolve_ground
from rillwright.model.site import Yard


def box(left, low, right, high):
    return [(left, low), (right, low), (right, high), (left, high)]


def ground(*areas, trees=()):
    facts = {
        "name": "Test",
        "units": "metric",
        "areas": [{"id": n, "kind": k, "outline": o, "holes": list(h)} for n, k, o, *h in areas],
        "trees": list(trees),
        "water_entry": {"at": (0, 0), "height": 1.5, "pipe": {"material": "PE", "size": "1 in", "length": 9}},
        "controller": {"stations": 4},
        "backflow": {"allowed": ["double check"]},
    }
    return resolve_ground(Yard.model_validate(facts))


def test_a_later_area_lies_over_an_earlier_one():
    later = ground(("lawn", "lawn", box(0, 0, 10, 10)), ("house", "building", box(5, 0, 15, 10)))
    assert later.lawns["lawn"].area == pytest.approx(50)
    assert later.kinds["building"].area == pytest.approx(100)
    earlier = ground(("house", "building", box(5, 0, 15, 10)), ("lawn", "lawn", box(0, 0, 10, 10)))
    assert earlier.lawns["lawn"].area == pytest.approx(100)
    assert earlier.kinds["building"].area == pytest.approx(50)


def test_a_drive_parts_a_lawn_in_two_and_holes_stay_open():
    parted = ground(("lawn", "lawn", box(0, 0, 10, 10), box(1, 1, 2, 2)), ("drive", "paving", box(4, 0, 6, 10)))
    assert len(parted.lawns["lawn"].geoms) == 2
    assert parted.lawns["lawn"].area == pytest.approx(79)
    assert parted.surface_at(1.5, 1.5) is None
    assert parted.surface_at(5, 5) == "paving"
    assert parted.surface_at(9, 9) == "lawn"


def test_each_place_of_the_site_has_one_kind():
    """Whatever overlaps, the kinds tile the site: their areas add up to that of the whole."""
    piled = ground(
        ("lawn", "lawn", box(0, 0, 20, 20)),
        ("bed", "bed", box(5, 5, 15, 15)),
        ("patch", "lawn", box(8, 8, 12, 25)),
        ("path", "paving", box(0, 9, 20, 10)),
    )
    shapes = [shape for kind, shape in piled.kinds.items() if kind != "roots"]
    assert sum(shape.area for shape in shapes) == pytest.approx(piled.site.area)
    assert piled.extent == (0, 0, 20, 25)


def test_trunks_are_cut_from_lawns_and_roots_are_not():
    tree = {"id": "oak", "at": (5, 5), "trunk_radius": 0.5, "root_radius": 6}
    wooded = ground(("lawn", "lawn", box(0, 0, 10, 10)), ("zone", "roots", box(8, 8, 9, 9)), trees=[tree])
    assert wooded.lawns["lawn"].area == pytest.approx(100 - math.pi * 0.25, abs=0.01)
    assert wooded.roots.area == pytest.approx(math.pi * 36, rel=0.01)
    assert wooded.site.area == pytest.approx(100)
    assert wooded.surface_at(9, 9) == "lawn"
    assert wooded.no_trench.area == pytest.approx(math.pi * 0.25, abs=0.01)


def test_level_ground_lies_at_the_height_of_the_entry():
    assert ground(("lawn", "lawn", box(0, 0, 10, 10))).terrain.at(3, 3) == 1.5
