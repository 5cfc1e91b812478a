"""Rings of a main against every set of stretches there is on small graphs, and on a yard where the answer is known."""

import itertools
from collections import Counter

import networkx as nx
import numpy as np
import pytest
from shapely.geometry import LineString

from rillwright.solvers.mains import ring_of
from rillwright.solvers.routing import Net, route_nets
from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.rings import close_ring
from rillwright.solvers.routing.sharing import NetEnds, Router


def plane_graph(seed, nodes=8, edges=13):
    """A connected graph of points far apart, so that no way runs beside another."""
    chance = np.random.default_rng(seed)
    points = chance.uniform(0, 400, (nodes, 2))
    pairs = {(int(chance.integers(k)), k) for k in range(1, nodes)}
    while len(pairs) < edges:
        pairs.add(tuple(sorted(chance.choice(nodes, 2, replace=False).tolist())))
    first, second = np.array(sorted(pairs)).T
    length = np.linalg.norm(points[first] - points[second], axis=1)
    trench = length * chance.choice([3.0, 3.0, 10.0], edges)
    return Graph(points, first, second, trench, length, nodes, np.zeros(0, int), np.zeros(nodes, int))


def fed_twice(graph, edges, ends):
    """Whether every end is joined to the first, whichever one of the edges is shut."""
    pairs = [(int(graph.first[e]), int(graph.second[e])) for e in edges]
    for shut in range(len(pairs)):
        net = nx.Graph(pairs[:shut] + pairs[shut + 1 :])
        net.add_nodes_from(ends)
        if len({frozenset(nx.node_connected_component(net, end)) for end in ends}) > 1:
            return False
    return True


def cheapest_ring(graph, net):
    price = graph.trench + net.pipe_cost * graph.length
    count = len(price)
    order = sorted(range(1, 1 << count), key=lambda mask: sum(price[e] for e in range(count) if mask >> e & 1))
    for mask in order:
        edges = [e for e in range(count) if mask >> e & 1]
        if fed_twice(graph, edges, net.terminals):
            return sum(price[edges])
    return None


def test_rings_cost_little_more_than_the_cheapest_there_is():
    """From the lightest tree, closed; the cheapest ring of all, found among every set of edges, has no such start."""
    ratios = []
    for seed in range(10):
        graph = plane_graph(seed)
        net = NetEnds((0, 3, 6, 7), 1.5)
        tree = Router(graph, [net], deadline=np.inf).route(0, np.zeros(len(graph.first), dtype=bool))
        ring = close_ring(graph, tree, net, np.zeros(len(graph.first), dtype=bool))
        best = cheapest_ring(graph, net)
        if best is None:
            continue
        assert fed_twice(graph, sorted(ring), net.terminals)
        ratios.append(sum((graph.trench + net.pipe_cost * graph.length)[sorted(ring)]) / best)
    print(
        f"rings over brute force: {len(ratios)}, worst {max(ratios):.3f}, equal in {sum(r < 1 + 1e-9 for r in ratios)}"
    )
    assert len(ratios) >= 5
    assert min(ratios) >= 1 - 1e-9
    assert max(ratios) <= 1.05


def test_trenches_that_others_dig_are_free():
    """Two ways close a tree of one edge: the one that is open already is taken though it is longer."""
    points = np.array([[0.0, 0.0], [100.0, 0.0], [50.0, 40.0], [50.0, -80.0]])
    first, second = np.array([[0, 0, 0, 1, 1], [1, 2, 3, 2, 3]])
    length = np.linalg.norm(points[first] - points[second], axis=1)
    graph = Graph(points, first, second, 3 * length, length, 4, np.zeros(0, int), np.zeros(4, int))
    net = NetEnds((0, 1), 1.0)
    nothing, below = np.zeros(5, dtype=bool), np.array([False, False, True, False, True])
    assert close_ring(graph, frozenset({0}), net, nothing) == {0, 1, 3}
    assert close_ring(graph, frozenset({0}), net, below) == {0, 2, 4}


def square(make_ground, box):
    ground = make_ground(("lawn", box(0, 0, 40, 40)))
    points = {"entry": (2.0, 2.0), "V1": (38.0, 2.0), "V2": (38.0, 38.0), "H1": (2.0, 38.0), "H2": (20.0, 38.0)}
    nets = [Net("main", "entry", ("V1", "V2"), 1.0), Net("Z1", "V2", ("H1", "H2"), 1.0)]
    return nets, points, ground


@pytest.mark.parametrize("seed", [0, 1])
def test_a_ring_on_the_ground_feeds_each_place_from_two_sides(make_ground, box, costs, seed):
    nets, points, ground = square(make_ground, box)
    plain = route_nets(nets, points=points, ground=ground, costs=costs, seed=seed)
    routes = route_nets(nets, points=points, ground=ground, costs=costs, ring="main", seed=seed)
    main = routes.trees["main"]
    assert ring_of(plain.trees["main"]) == []
    assert ring_of(main) == list(main)
    lines = [LineString(run.path) for run in main]
    for one, two in itertools.combinations(lines, 2):
        assert one.intersection(two.buffer(0.2)).length < 2.5  # they leave a node apart from one another
    assert Counter(end for run in main for end in (run.start, run.end))["V2"] == 2
    for run in main:
        assert run.length == pytest.approx(LineString(run.path).length)
        assert run.path[0] == pytest.approx(routes.nodes[run.start])
        assert run.path[-1] == pytest.approx(routes.nodes[run.end])
    assert plain.cost < routes.cost < plain.cost + 7.5 * 75  # closed by one more diagonal at the most
    assert routes == route_nets(nets, points=points, ground=ground, costs=costs, ring="main", seed=seed)


def test_an_alley_leaves_no_room_for_a_ring(make_ground, box, costs):
    """Ground 0.6 m wide: a second trench would lie beside the first."""
    ground = make_ground(("lawn", box(0, 0, 40, 0.6)))
    points = {"entry": (0.3, 0.3), "V1": (20.0, 0.3), "V2": (39.0, 0.3)}
    nets = [Net("main", "entry", ("V1", "V2"), 1.0)]
    routes = route_nets(nets, points=points, ground=ground, costs=costs, ring="main")
    assert ring_of(routes.trees["main"]) == []
    assert routes == route_nets(nets, points=points, ground=ground, costs=costs)
