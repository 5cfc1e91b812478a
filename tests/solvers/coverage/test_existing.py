"""Heads in the ground of a yard part-built: new heads are laid out round them, on invented yards."""

import functools
import itertools
import math

from coverage_yards import CATALOGUE, PRESSURE, ground_of, lawn, rectangle, yard_of
from rillwright.solvers.coverage import lay_out_lawn

WIDE, HIGH, STEP = 16.0, 8.4, 4.2  # [m] of the lawn, and between the heads in its left half
HOUSE = {"id": "house", "kind": "building", "outline": rectangle(0, 8.0, 8, 5)}
ARCS = {(0, 0): (0, 90), (0, 1): (270, 180), (0, 2): (270, 90), (1, 0): (0, 180), (1, 2): (180, 180), (1, 1): (0, 360)}


def part_built(heads, *others, pipes=()):
    yard = yard_of(lawn(rectangle(0, 0, WIDE, HIGH), *others))
    return yard.model_copy(update={"existing": type(yard.existing).model_validate({"heads": heads, "pipes": pipes})})


def half_watered(moving):
    """The left half of a lawn under nine heads, head to head, each lateral in the ground."""
    heads, pipes = [], []
    for i, j in itertools.product(range(3), repeat=2):
        start, arc = ARCS[min(i, 1), j]
        at = (max(i * STEP, 0.05), (0.05, STEP, HIGH - 0.05)[j])
        heads.append(old_head(f"old {i}{j}", at, start, arc, moving_cost=moving))
    for i in range(3):
        path = [(max(i * STEP, 0.05), 0.0), (max(i * STEP, 0.05), HIGH)]
        pipes.append({"id": f"lateral {i}", "role": "lateral", "material": "PE", "size": "1 in", "path": path})
    return part_built(heads, pipes=pipes)


def old_head(name, at, start, arc, *, nozzle="rotary 15 ft", **more):
    return {"id": name, "at": at, "head_class": "rotary", "nozzle": nozzle, "arc_start": start, "arc": arc} | more


@functools.cache
def laid_out(moving):
    return lay(half_watered(moving))


def lay(yard, effort=1.0):
    (first, *_) = lay_out_lawn(
        "L",
        ground=ground_of(yard),
        yard=yard,
        catalogue=CATALOGUE,
        head_class="rotary",
        pressure=PRESSURE["rotary"],
        effort=effort,
    )
    return first


def kept(layout, yard):
    """Heads of the layout by the head in the ground that they are."""
    pairs = itertools.product(yard.existing.heads, layout.heads)
    return {old.id: head for old, head in pairs if math.dist(old.at, head.at) < 0.05}


def test_half_a_lawn_watered_already_gets_no_second_set_of_heads():
    layout, yard = laid_out(20.0), half_watered(20.0)
    same = kept(layout, yard)
    assert len(same) == 9
    for old in yard.existing.heads:
        head = same[old.id]
        assert (head.nozzle, head.arc_start, head.arc) == (old.nozzle, old.arc_start, old.arc)
    new = [head for head in layout.heads if head not in same.values()]
    assert new
    assert all(head.at[0] > 2 * STEP for head in new)
    assert layout.lawn.evenness.du >= 0.7


def test_a_dear_head_is_kept_and_one_that_costs_nothing_to_move_may_go():
    """Three heads in the open middle of a lawn, too near to each other to be of much use."""
    spots = [(7.0, 4.0), (8.0, 4.4), (9.0, 4.0)]

    def left(moving):
        heads = [old_head(f"old {k}", at, 0, 360, moving_cost=moving) for k, at in enumerate(spots)]
        yard = part_built(heads)
        return len(kept(lay(yard), yard))

    assert left(0.0) < left(600.0) == 3


def test_a_head_without_its_nozzle_stays_in_place_and_is_set_anew():
    yard = part_built([old_head("old", (0.1, 0.1), 90, 360, nozzle=None, moving_cost=100)])
    head = kept(lay(yard), yard)["old"]
    assert 60 <= head.arc <= 100  # it came with a full circle, in a corner
    assert math.cos(math.radians(head.arc_start + head.arc / 2)) > 0.5


def test_a_head_that_wets_the_house_is_turned_off_it_rather_than_given_up():
    yard = part_built([old_head("old", (4.0, 7.7), 150, 210, moving_cost=100)], HOUSE)
    layout = lay(yard)
    assert "old" in kept(layout, yard)
    assert kept(layout, yard)["old"].nozzle == "rotary 15 ft"
    assert layout.lawn.on_building <= 0.001 * layout.lawn.water


def test_heads_of_another_class_are_given_up():
    yard = part_built([old_head("old", (8.0, 4.0), 0, 360, nozzle=None, head_class="spray", moving_cost=5)])
    bare = yard_of(lawn(rectangle(0, 0, WIDE, HIGH)))
    assert lay(yard, effort=0.3) == lay(bare, effort=0.3)
