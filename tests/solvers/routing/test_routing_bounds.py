"""The lower bound, against exact trees."""

import numpy as np
import pytest
from scipy.sparse.csgraph import floyd_warshall
from least_trees import steiner_weight

from rillwright.errors import SolverError
from rillwright.solvers.routing.bounds import dual_ascent, least_cost
from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.sharing import NetEnds



def flat_graph(seed, nodes=24):
    """Points on a plane, each joined to its near ones."""
    chance = np.random.default_rng(seed)
    points = chance.uniform(size=(nodes, 2))
    gap = np.linalg.norm(points[:, None] - points[None], axis=2)
    first, second = np.nonzero(np.triu(gap < 0.5, 1))
    length = gap[first, second]
    none = np.zeros(0, dtype=int)
    return Graph(points, first, second, 6 * length, length, nodes, none, np.zeros(nodes, dtype=int))


def exact(graph, terminals, weight):
    dense = np.full((len(graph.points), len(graph.points)), np.inf)
    dense[graph.first, graph.second] = dense[graph.second, graph.first] = weight
    distance = floyd_warshall(dense, directed=False)
    return steiner_weight(distance, terminals)


@pytest.mark.parametrize("seed", range(20))
def test_bound_is_under_the_exact_tree_and_not_far(seed):
    graph = flat_graph(seed)
    terminals = [0, 5, 10, 15, 20, 23]
    best = exact(graph, terminals, graph.trench)
    bound = dual_ascent(graph, terminals, graph.trench)
    assert 0.98 * best <= bound <= best + 1e-9


def test_bound_of_two_terminals_is_the_shortest_way():
    graph = flat_graph(1)
    assert dual_ascent(graph, [3, 17], graph.length) == pytest.approx(exact(graph, [3, 17], graph.length))


def test_bound_of_nets_adds_trench_once_and_pipe_for_each():
    graph = flat_graph(2)
    nets = [NetEnds((0, 7), 1.0), NetEnds((7, 12, 18), 0.5)]
    pipes = dual_ascent(graph, (0, 7), graph.length) + 0.5 * dual_ascent(graph, (7, 12, 18), graph.length)
    assert least_cost(graph, nets) == pytest.approx(dual_ascent(graph, [0, 7, 12, 18], graph.trench) + pipes)


def test_bound_says_when_there_is_no_tree():
    graph = flat_graph(4)
    keep = (graph.first != 6) & (graph.second != 6)
    cut = Graph(
        graph.points,
        graph.first[keep],
        graph.second[keep],
        graph.trench[keep],
        graph.length[keep],
        24,
        graph.indoors,
        graph.parts,
    )
    with pytest.raises(SolverError, match="cannot reach"):
        dual_ascent(cut, [0, 6], cut.length)
