"""Lines that a net must follow: they are in its tree, the rest is least round them, and others share their trench.

Check values: Steiner trees drawn by hand, and the least trees of tests/least_trees.py; invented yards.
"""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString

from rillwright.errors import InputError
from rillwright.solvers.routing import Held, Net, route_nets
from rillwright.solvers.routing.in_ground import follow

POINTS = {"entry": (0.0, 5.0), "V": (2.0, 5.0), "A": (18.0, 5.0), "B": (18.0, 8.0)}


@pytest.fixture
def lawn(make_ground, box):
    return make_ground(("lawn", box(0, 0, 20, 10)))


def routed(ground, costs, *, lines, ends=("A", "B"), main=(), ring=None):
    nets = [Net("main", "entry", ("V",), 1.5, held=main), Net("zone", "V", ends, 1.0, held=lines)]
    return route_nets(nets, points=POINTS, ground=ground, costs=costs, ring=ring)


def along(routes, net, line, off=0.16):
    """Length [m] of a net's pipe beside a line."""
    pipe = shapely.unary_union([LineString(edge.path) for edge in routes.trees[net]])
    return pipe.intersection(LineString(line).buffer(off, cap_style="flat")).length


def test_a_longer_way_is_gone_when_it_is_held(lawn, costs):
    """From V along y = 1 and up to A: 4 + 16 + 4 m, where the straight way has 16 m."""
    way = ((2.0, 1.0), (18.0, 1.0))
    free, held = routed(lawn, costs, lines=(), ends=("A",)), routed(lawn, costs, lines=(Held("P", way),), ends=("A",))
    assert along(free, "zone", way) == 0.0
    assert along(held, "zone", way) == pytest.approx(16.0, abs=0.35)  # and the corners beside it
    assert sum(edge.length for edge in held.trees["zone"]) == pytest.approx(24.0, rel=1e-3)
    assert [edge.held for edge in held.trees["zone"]] == [None, "P", None]
    assert held.cost == pytest.approx(free.cost + 8 * 7.0, rel=1e-3)
    assert held.bound <= held.cost + 1e-9


def test_what_leads_to_no_end_is_left_out(lawn, costs):
    """The line runs 2 m past the place where B's lateral leaves it, and a metre short of V: neither end is a stub."""
    held = routed(lawn, costs, lines=(Held("P", ((3.0, 8.0), (20.0, 8.0))),), ends=("B",))
    ends = [edge.end for edge in held.trees["zone"]]
    assert ends[-1] == "B"
    assert along(held, "zone", ((3.0, 8.0), (18.0, 8.0))) == pytest.approx(15.0, abs=0.01)
    starts = {edge.start for edge in held.trees["zone"]}
    assert {end for end in ends if end not in starts} == {"B"}


def test_a_trench_that_is_held_is_shared(lawn, costs):
    """The main must go to V by way of the lawn's middle; the zone's lateral to A lies in that trench, dug once."""
    points = POINTS | {"V": (18.0, 1.0)}
    line = Held("M", ((4.0, 5.0), (17.0, 5.0)))
    nets = [Net("main", "entry", ("V",), 1.5, held=(line,)), Net("zone", "V", ("A",), 1.0)]
    routes = route_nets(nets, points=points, ground=lawn, costs=costs)
    assert along(routes, "main", line.path) == pytest.approx(13.0, abs=0.01)
    dug = shapely.unary_union([LineString(trench.path) for trench in routes.trenches])
    assert sum(trench.length for trench in routes.trenches) == pytest.approx(dug.length, abs=0.02)


def test_two_lines_in_one_trench_have_the_same_nodes():
    given = np.array([[0.0, 0.0], [4.0, 3.0]])
    chains, spots = follow([((0, 0), (10, 0)), ((0, 0), (7, 0), (7, 5)), ((3, -4), (3, 0))], given)
    every = np.vstack([given, spots])
    first = {k for k in chains[0].tolist() if every[k, 0] < 7.01}
    assert first <= set(chains[1].tolist())
    assert chains[2][-1] in chains[0]


def test_a_ring_keeps_what_is_held(lawn, costs):
    points = {"entry": (0.0, 5.0), "V1": (18.0, 2.0), "V2": (18.0, 8.0)}
    line = Held("M", ((2.0, 9.5), (16.0, 9.5)))
    nets = [Net("main", "entry", ("V1", "V2"), 1.0, held=(line,))]
    routes = route_nets(nets, points=points, ground=lawn, costs=costs, ring="main")
    assert along(routes, "main", line.path) == pytest.approx(14.0, abs=0.01)
    pairs = [(edge.start, edge.end) for edge in routes.trees["main"]]
    assert len(pairs) >= len({name for pair in pairs for name in pair})


@pytest.mark.parametrize("seed", range(6))
def test_the_rest_is_no_dearer_than_a_least_tree_that_has_the_line(seed, make_ground, box, costs):
    """Oracle: a spanning tree over the ends with the line free, which is a tree that obeys; ours costs no more."""
    dice = np.random.default_rng(seed)
    spots = dice.uniform((1, 1), (19, 9), (6, 2))
    points = {f"P{k}": (float(x), float(y)) for k, (x, y) in enumerate(spots)}
    line = Held("P", ((6.0, 5.0), (14.0, 5.0)))
    nets = [Net("zone", "P0", tuple(points)[1:], 1.0, held=(line,))]
    routes = route_nets(nets, points=points, ground=make_ground(("lawn", box(0, 0, 20, 10))), costs=costs)
    shape = LineString(line.path)
    ours = sum(edge.length for edge in routes.trees["zone"]) - along(routes, "zone", line.path)
    reached, loose, total = [shape], list(spots), 0.0
    while loose:
        gap, nearest = min((min(s.distance(shapely.Point(p)) for s in reached), k) for k, p in enumerate(loose))
        reached.append(shapely.Point(loose.pop(nearest)))
        total += gap
    assert ours <= total + 0.35  # points within 0.15 m of the line bend it
    assert along(routes, "zone", line.path) > 0


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (((2.0, 5.0), (18.0, 5.0)), "'P' runs where no trench may be dug"),
        (((11.0, 4.0), (11.0, 5.0)), "'P' cannot be joined to 'V'"),
    ],
)
def test_a_line_that_no_trench_can_follow_is_refused(line, said, make_ground, box, costs):
    moat = [(9, 2), (13, 2), (13, 8), (9, 8)]
    ground = make_ground(("lawn", box(0, 0, 20, 10)), ("water", moat), ("lawn", box(10, 3, 12, 7)))
    with pytest.raises(InputError, match=said):
        routed(ground, costs, lines=(Held("P", line),))
