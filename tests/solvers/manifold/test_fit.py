"""How a manifold lies in its space, against pushes tried one by one."""

import math
import random

import pytest
import shapely
from shapely.affinity import rotate, translate
from shapely.geometry import Point, box

from benches import bench
from rillwright.model.manifold import BenchTerms, DoorSwing, Space
from rillwright.solvers.manifold import assemble
from rillwright.solvers.manifold.fit import TAP_ROOM, lay_in

CLEAR = 0.025


def room(seed):
    dice = random.Random(seed)
    parts = []
    for _ in range(dice.randint(1, 3)):
        x, y = dice.uniform(0, 0.2), dice.uniform(0, 0.2)
        parts.append((x, y, x + dice.uniform(0.05, 0.3), y + dice.uniform(0.05, 0.3)))
    length, width = dice.uniform(0.5, 0.9), dice.uniform(0.4, 0.7)
    space = Space(
        length=length,
        width=width,
        wall=dice.choice((None, 0.0, 0.08)),
        doors=[DoorSwing(x=dice.choice((0, length)), y=0, radius=dice.uniform(0.1, 0.3))] * dice.randint(0, 1),
        taps=[(dice.uniform(0, length), 0)] * dice.randint(0, 1),
    )
    return parts, space


def may_lie(parts, space, turned, at, clear):
    """Whether grown parts, turned and pushed, lie in the space and meet neither door nor tap."""
    grown = [box(a - clear, b - clear, c + clear, d + clear) for a, b, c, d in parts]
    laid = [translate(rotate(part, turned, origin=(0, 0)), *at) for part in grown]
    wall = 0.0 if space.wall is None else max(space.wall - clear, 0.0)
    inside = box(-1e-6, wall - 1e-6, space.length + 1e-6, space.width + 1e-6)
    taken = [Point(d.x, d.y).buffer(d.radius - 1e-6, 16) for d in space.doors]
    taken += [Point(*tap).buffer(TAP_ROOM - 1e-6, 16) for tap in space.taps]
    return all(inside.contains(part) and not any(part.intersects(other) for other in taken) for part in laid)


@pytest.mark.parametrize("seed", range(10))
def test_it_is_laid_where_it_may_lie_and_found_wherever_a_search_finds_it(seed):
    parts, space = room(seed)
    laid = lay_in(parts, space, clear=CLEAR)
    if laid.spare > 1e-3:
        assert may_lie(parts, space, laid.turned, laid.at, CLEAR)
        assert may_lie(parts, space, laid.turned, laid.at, CLEAR + 0.9 * laid.spare - 6e-4)
    pushes = [n * 0.05 - 0.6 for n in range(36)]
    tried = any(
        may_lie(parts, space, turned, (x, y), CLEAR) for turned in (0, 90, 180, 270) for x in pushes for y in pushes
    )
    assert not tried or laid.spare >= -1e-6


def test_the_room_to_spare_of_a_bare_rectangle_by_hand():
    """A part of 0.3 by 0.2 m in 0.5 by 0.4 m: 0.1 m on every side, less 25 mm for hands."""
    laid = lay_in([(0, 0, 0.3, 0.2)], Space(length=0.5, width=0.4), clear=CLEAR)
    assert laid.spare == pytest.approx(0.075)
    turned = lay_in([(0, 0, 0.2, 0.4)], Space(length=0.45, width=0.26), clear=CLEAR)
    assert turned.turned in (90, 270)
    assert turned.spare == pytest.approx(0.0, abs=1e-9)
    short = lay_in([(0, 0, 0.5, 0.5)], Space(length=0.5, width=0.9), clear=CLEAR)
    assert short.spare == pytest.approx(-CLEAR)


def test_a_circle_is_never_drawn_smaller_than_it_is():
    """Pushed against a tap's room from the side, a part keeps the whole of it."""
    space = Space(length=1.0, width=TAP_ROOM + 0.12, taps=[(0.5, 0)])
    assert lay_in([(0, 0, 1.0 - 2 * CLEAR, 0.07)], space, clear=CLEAR).spare < 1e-3
    wider = space.model_copy(update={"width": space.width + 0.01})
    assert lay_in([(0, 0, 1.0 - 2 * CLEAR, 0.07)], wider, clear=CLEAR).spare >= -1e-6


def test_the_smallest_box_is_chosen_that_takes_it():
    made = assemble(bench(sizes=("3/4 in",), terms=BenchTerms(isolating=False)))
    covers = bench().shelf.bodies.covers
    names = [cover.name for cover in covers]
    for cover in covers[: names.index(made.fit.cover)]:
        terms = BenchTerms(isolating=False, space=Space(length=cover.length, width=cover.width, depth=cover.depth))
        other = assemble(bench(sizes=("3/4 in",), terms=terms))
        assert {finding.rule for finding in other.findings} & {"manifold-fit", "manifold-depth"}
    assert made.fit.fits
    assert not made.findings


def test_a_manifold_too_large_for_every_box_says_by_how_much():
    made = assemble(bench(sizes=("1 in",) * 12))
    (finding,) = made.findings
    assert finding.rule == "manifold-fit"
    assert "widest with extension" in finding.what
    wide = shapely.union_all(
        [box(*low[:2], *high[:2]) for run in made.runs for low, high in map(run.box, run.pieces)]
    ).bounds
    lack = (made.grid.metres(math.ceil(wide[2] - wide[0])) + 2 * CLEAR - made.fit.space.length) / 2
    assert -made.fit.spare == pytest.approx(lack, abs=2e-3)


def test_what_is_told_to_do_about_a_box_too_small_makes_it_fit():
    """Valves side by side on PE are too long for the widest box with unions on both sides; advice is tried first."""
    told = set()
    for sizes in (("3/4 in",) * 4, ("1 in",) * 4, ("1 in",) * 7, ("1 in",) * 9):
        for material in ("PE", "PVC schedule 40"):
            made = assemble(bench("metric", sizes=sizes, material=material))
            for finding in (one for one in made.findings if one.rule == "manifold-fit"):
                unions = "outlet" if "unions on the outlets" in finding.do else "both sides"
                rows = "both sides" if "both sides of the header" in finding.do else "one side"
                terms = BenchTerms(unions=unions, rows=rows)
                told.add((unions, rows))
                fits = assemble(bench("metric", sizes=sizes, material=material, terms=terms)).fit.fits
                assert fits == ((unions, rows) != ("both sides", "one side"))
    assert ("outlet", "one side") in told
