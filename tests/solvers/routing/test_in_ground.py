"""Pipe in the ground: routes follow it where that is cheapest, and no other net may."""

import numpy as np
import pytest
from shapely.geometry import LineString

from rillwright.solvers.routing import Net, route_nets
from rillwright.solvers.routing.in_ground import follow

POINTS = {"entry": (0.0, 5.0), "V": (2.0, 5.0), "A": (18.0, 5.0), "B": (18.0, 8.0), "C": (18.0, 2.0)}
LINE = ((2.0, 5.0), (14.0, 5.0))


@pytest.fixture
def lawn(make_ground, box):
    return make_ground(("lawn", box(0, 0, 20, 10)))


def routed(lawn, costs, *, laid=(), foreign=()):
    nets = [
        Net("main", "entry", ("V",), 1.5, foreign),
        Net("zone", "V", ("A", "B", "C"), 1.0, laid),
    ]
    return route_nets(nets, points=POINTS, ground=lawn, costs=costs)


def test_pipe_in_the_ground_saves_its_own_trench_and_pipe(lawn, costs):
    """12 m of pipe along the way that new pipe takes too: 12 · (6 + 1) saved."""
    new, old = routed(lawn, costs), routed(lawn, costs, laid=(LINE,))
    assert old.cost == pytest.approx(new.cost - 12 * 7.0, rel=0.02)
    kept = [edge for edge in old.trees["zone"] if edge.laid == 0]
    assert sum(edge.length for edge in kept) == pytest.approx(12.0)
    dug = [LineString(trench.path) for trench in old.trenches]
    assert all(line.intersection(LineString(LINE).buffer(0.01)).length < 0.05 for line in dug)
    assert old.bound <= old.cost + 1e-9
    assert {edge.laid for edge in new.trees["zone"]} == {None}


def test_pipe_of_another_net_saves_nothing(lawn, costs):
    assert routed(lawn, costs, foreign=(LINE,)).cost == pytest.approx(routed(lawn, costs).cost, rel=1e-3)


def test_pipe_far_off_the_way_is_left_alone(lawn, costs):
    old = routed(lawn, costs, laid=(((1.0, 0.3), (3.0, 0.3)),))
    assert all(edge.laid is None for edge in old.trees["zone"])


def test_pipe_under_a_building_carries_water_where_no_trench_may_go(make_ground, costs, box):
    ground = make_ground(("lawn", box(0, 0, 20, 10)), ("building", box(6, 1, 10, 10)))
    old, new = routed(ground, costs, laid=(LINE,)), routed(ground, costs)
    assert old.cost < new.cost - 12 * 7.0
    assert sum(edge.length for edge in old.trees["zone"] if edge.laid == 0) == pytest.approx(12.0)


def test_nodes_along_a_line_are_in_order_and_take_in_points_that_stand_on_it():
    given = np.array([[0.0, 0.0], [5.0, 0.05], [7.0, 3.0], [50.0, 50.0]])
    chains, spots = follow([((0.0, 0.0), (10.0, 0.0))], given)
    every = np.vstack([given, spots])
    places = every[chains[0]]
    assert np.all(np.diff(places[:, 0]) > 0.1)
    assert {0, 1} <= set(chains[0].tolist())
    assert np.min(np.abs(places[:, 0] - 7.0)) < 1e-9
    assert places[-1] == pytest.approx([10.0, 0.0])
