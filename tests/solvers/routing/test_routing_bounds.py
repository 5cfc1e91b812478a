"""The lower bound, against exact trees."""

import numpy as np
import pytest
from scipy.sparse.csgraph import floyd_warshall

from least_trees import least_of_all, steiner_weight, tiny_graph
from rillwright.errors import SolverError
from rillwright.solvers.routing.bounds import dual_ascent, least_cost
from rillwright.solvers.routing.duals import raise_and_restore, raise_duals, room_for, twins
from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.kernels import lightest_tree
from rillwright.solvers.routing.patches import part_of
from rillwright.solvers.routing.sharing import NetEnds
from rillwright.solvers.routing.steiner import light_tree


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
    bound = dual_ascent(graph.patch(), terminals, graph.trench)[0]
    assert 0.98 * best <= bound <= best + 1e-9


def test_bound_of_two_terminals_is_the_shortest_way():
    graph = flat_graph(1)
    assert dual_ascent(graph.patch(), [3, 17], graph.length)[0] == pytest.approx(exact(graph, [3, 17], graph.length))


def test_bound_of_nets_is_under_every_choice_of_trees_and_over_the_plain_sum():
    """Three nets on 20 small graphs: no choice of trees is cheaper, and sharing what is left of a trench helps."""
    gains = []
    for seed in range(20):
        graph = tiny_graph(seed)
        ends = np.random.default_rng(seed).choice(8, 7, replace=False).tolist()
        nets = [
            NetEnds((ends[0], ends[1], ends[2]), 1.5),
            NetEnds((ends[1], *ends[3:5]), 1.0),
            NetEnds((ends[2], *ends[5:7]), 1.0),
        ]
        pipes = sum(net.pipe_cost * dual_ascent(graph.patch(), net.terminals, graph.length)[0] for net in nets)
        plain = dual_ascent(graph.patch(), ends, graph.trench)[0] + pipes
        bound = least_cost(graph, nets)
        assert bound <= least_of_all(graph, nets) + 1e-6
        gains.append(bound / plain)
    assert min(gains) > 1 - 1e-6
    assert max(gains) > 1.001


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
        dual_ascent(cut.patch(), [0, 6], cut.length)


@pytest.mark.parametrize("listed", [0, 3, None], ids=["no list", "a short list", "a full list"])
def test_one_bound_after_another_is_as_each_by_itself(listed):
    """Whether the arcs that were lowered are put right one by one or all, the next bound finds every price."""
    graph = flat_graph(4, nodes=40)
    patch = graph.patch()
    price, room = graph.trench[patch.edge], room_for(40)
    left, touched = price.copy(), np.empty(len(price) if listed is None else listed, dtype=np.int64)
    twin = twins(patch.edge, len(patch.edges))
    for seed in range(6):
        ends = np.random.default_rng(seed).choice(40, 5, replace=False)
        alone = raise_duals(patch.start, patch.other, price.copy(), ends[0], ends[1:])
        found, near = raise_and_restore(
            patch.start, patch.other, twin, price, left, ends[0], ends[1:], 0.99 * alone, *room, touched
        )
        assert found == alone > 0
        assert len(near) == 0
        assert np.array_equal(left, price)


@pytest.mark.parametrize("seed", range(10))
def test_nodes_left_for_a_tree_hold_the_lightest(seed):
    """The nodes that trees of a weight may have are few, and on them alone the lightest tree is as light."""
    graph = flat_graph(seed, nodes=60)
    patch, ends = graph.patch(), np.random.default_rng(seed).choice(60, 6, replace=False)
    price, twin = graph.trench[patch.edge], twins(patch.edge, len(patch.edges))
    assert np.array_equal(patch.edge[twin], patch.edge)
    assert np.all(patch.other[twin] != patch.other)
    least = (1 + 1e-9) * graph.trench[light_tree(patch, ends, graph.trench)].sum()
    room = (*room_for(60), np.empty(len(price), dtype=np.int64))
    _, near = raise_and_restore(patch.start, patch.other, twin, price, price.copy(), ends[0], ends[1:], least, *room)
    assert set(ends) <= set(near)
    assert len(near) < 40
    part = part_of(patch, near)
    kept = lightest_tree(part.start, part.other, part.edge, graph.trench[part.edges], part.local(ends), np.inf)
    assert graph.trench[part.edges[kept]].sum() == pytest.approx(least)
