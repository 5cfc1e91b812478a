"""Two invented lawns that touch, watered as one and apart."""

import functools
import itertools
import math

import pytest

from coverage_yards import CATALOGUE, PRESSURE, ground_of, rectangle, yard_of
from rillwright.physics.evenness import distribution_uniformity
from rillwright.solvers.coverage import judging_grid, lay_out_lawn, water_rate
from rillwright.solvers.coverage.grid import cells_of
from rillwright.solvers.coverage.shadow import scene_of

LEFT = {"id": "left", "kind": "lawn", "outline": rectangle(0, 0, 8, 9)}
RIGHT = {"id": "right", "kind": "lawn", "outline": rectangle(8, 0, 8, 9)}


@functools.cache
def laid_out(exposure):
    yard = yard_of([LEFT, RIGHT | {"exposure": exposure}])
    ground = ground_of(yard)
    layouts = [fewest_that_are_even(lawn, ground, yard) for lawn in ground.lawns]
    return layouts, ground, scene_of(ground, yard)


def fewest_that_are_even(lawn, ground, yard):
    """The layout of fewest heads with DU 0.75 or more on every part, from two starts, as a plan makes them."""
    terms = {"ground": ground, "yard": yard, "catalogue": CATALOGUE, "pressure": PRESSURE["rotary"]}
    found = [one for start in (1, 2) for one in lay_out_lawn(lawn, head_class="rotary", start=start, **terms)]
    return min((one for one in found if one.lawn.least_du >= 0.75), key=lambda one: len(one.heads))


def test_no_two_rows_of_heads_stand_along_the_edge_between_lawns():
    together, apart = ([head for one in laid_out(e)[0] for head in one.heads] for e in ("sun", "shade"))
    assert len(together) < len(apart)
    pairs = list(itertools.combinations(together, 2))
    assert min(math.dist(a.at, b.at) / min(a.radius, b.radius) for a, b in pairs) > 0.35
    along = [sum(abs(head.at[0] - 8) < 1 for head in heads) for heads in (together, apart)]
    assert along[0] < along[1]


def test_each_lawn_is_told_its_own_evenness_under_all_the_water():
    (layout,), ground, scene = laid_out("sun")
    grid = judging_grid(ground.lawns["left and right"])
    rate = water_rate(layout.heads, catalogue=CATALOGUE, grid=grid, scene=scene)
    assert [part.id for part in layout.lawn.parts] == ["left", "right"]
    for part in layout.lawn.parts:
        shape = ground.each_lawn[part.id]
        assert part.area == pytest.approx(72)
        assert part.evenness.du == pytest.approx(distribution_uniformity(rate[cells_of(shape, grid)]))
        assert part.evenness.du >= 0.65
    assert layout.lawn.least_du == min(part.evenness.du for part in (layout.lawn, *layout.lawn.parts))
    assert layout.lawn.on_lawn > 0.9 * layout.lawn.water
