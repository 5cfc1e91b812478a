"""Steiner trees on a graph, against brute force, an exact method written apart, and networkx."""

from itertools import combinations

import networkx as nx
import numpy as np
import pytest
from scipy.sparse.csgraph import floyd_warshall

from least_trees import steiner_weight
from rillwright.solvers.routing.patches import make_patch, patch_around, spanning
from rillwright.solvers.routing.steiner import light_tree, spanning_tree, thinned


def random_graph(seed, nodes=11, extra=14):
    """Connected graph of random weights: a random tree and some edges more."""
    chance = np.random.default_rng(seed)
    graph = nx.Graph()
    pairs = [(int(chance.integers(k)), k) for k in range(1, nodes)]
    pairs += [tuple(chance.choice(nodes, 2, replace=False).tolist()) for _ in range(extra)]
    graph.add_weighted_edges_from((a, b, float(chance.uniform(1, 10))) for a, b in pairs)
    return graph


def flat_graph(seed, nodes):
    """Points on a plane, each joined to the others near it."""
    chance = np.random.default_rng(seed)
    spots = chance.uniform(size=(nodes, 2)) * nodes**0.5
    gap = np.linalg.norm(spots[:, None] - spots[None], axis=2)
    graph = nx.Graph()
    graph.add_weighted_edges_from(
        (a, b, float(gap[a, b])) for a, b in zip(*np.nonzero(np.triu(gap < 3, 1)), strict=True)
    )
    return graph


def as_patch(graph):
    edges = sorted((min(a, b), max(a, b)) for a, b in graph.edges)
    first, second = np.array(edges).T
    weight = np.array([graph.edges[edge]["weight"] for edge in edges])
    return make_patch(np.arange(len(graph)), np.arange(len(edges)), first, second), weight


def as_graph(patch, edges):
    return nx.Graph([(int(patch.first[e]), int(patch.second[e])) for e in edges])


def exact_weight(graph, terminals):
    weight = nx.to_numpy_array(graph, nodelist=range(len(graph)), nonedge=np.inf)
    return steiner_weight(floyd_warshall(weight, directed=False), terminals)


def brute_force(graph, terminals):
    """Lightest spanning tree of any connected set of nodes that holds the terminals."""
    others = [node for node in graph if node not in terminals]
    best = np.inf
    for count in range(len(others) + 1):
        for added in combinations(others, count):
            part = graph.subgraph([*terminals, *added])
            if nx.is_connected(part):
                best = min(best, nx.minimum_spanning_tree(part).size(weight="weight"))
    return best


@pytest.mark.parametrize("seed", range(40))
def test_exact_tree_is_as_light_as_brute_force(seed):
    graph = random_graph(seed)
    ends = np.random.default_rng(seed).choice(len(graph), 3 + seed % 4, replace=False)
    patch, weight = as_patch(graph)
    tree = light_tree(patch, ends, weight)
    best = brute_force(graph, ends.tolist())
    assert weight[tree].sum() == pytest.approx(best)
    assert exact_weight(graph, ends.tolist()) == pytest.approx(best)
    assert nx.is_tree(as_graph(patch, tree))
    assert set(ends.tolist()) <= set(as_graph(patch, tree))


def test_tree_of_12_ends_is_exact():
    """10 random graphs of 30 nodes without geometry."""
    for seed in range(10):
        graph = random_graph(seed + 100, nodes=30, extra=45)
        ends = np.random.default_rng(seed).choice(30, 12, replace=False)
        patch, weight = as_patch(graph)
        assert weight[light_tree(patch, ends, weight)].sum() == pytest.approx(exact_weight(graph, ends.tolist()))


def test_tree_by_windows_stays_near_the_exact_one():
    """12 graphs of 90 points on a plane, 13 ends: one more than the exact method takes."""
    ratios = []
    for seed in range(12):
        graph = flat_graph(seed, 90)
        ends = np.random.default_rng(seed).choice(60, 13, replace=False)
        patch, weight = as_patch(graph)
        tree = light_tree(patch, ends, weight)
        assert nx.is_tree(as_graph(patch, tree))
        assert set(ends.tolist()) <= set(as_graph(patch, tree))
        ratios.append(weight[tree].sum() / exact_weight(graph, ends.tolist()))
    print(f"trees by windows over exact: worst {max(ratios):.4f}, mean {np.mean(ratios):.4f}")
    assert min(ratios) >= 1 - 1e-9
    assert max(ratios) <= 1.02


def test_large_tree_is_lighter_than_by_shortest_ways():
    """300 ends among 900 points; networkx builds the tree over shortest ways too."""
    graph = flat_graph(5, 900)
    patch, weight = as_patch(graph)
    ends = np.random.default_rng(5).choice(900, 300, replace=False)
    rough = weight[spanning_tree(patch, ends, weight)].sum()
    reference = nx.algorithms.approximation.steiner_tree(graph, ends.tolist(), method="mehlhorn").size(weight="weight")
    tree = light_tree(patch, ends, weight)
    assert nx.is_tree(as_graph(patch, tree))
    assert set(ends.tolist()) <= set(as_graph(patch, tree))
    assert rough == pytest.approx(reference, rel=0.01)
    assert weight[tree].sum() < min(rough, reference)


def test_part_round_two_ends_holds_their_shortest_way():
    graph = flat_graph(3, 400)
    patch, weight = as_patch(graph)
    part = patch_around(patch, np.array([7, 311]), weight)
    assert len(part.nodes) < 400
    small = nx.Graph()
    small.add_weighted_edges_from(
        (int(part.nodes[a]), int(part.nodes[b]), weight[e])
        for a, b, e in zip(part.first, part.second, part.edges, strict=True)
    )
    ways = [nx.dijkstra_path_length(g, 7, 311) for g in (graph, small)]
    assert ways[0] == pytest.approx(ways[1])


@pytest.mark.parametrize("count", [2, 7, 30])
def test_spanning_trees_weigh_what_networkx_finds(count):
    spots = np.random.default_rng(count).uniform(size=(count, 2))
    distance = np.linalg.norm(spots[:, None] - spots[None], axis=2)
    one, two = np.triu_indices(count, 1)
    chosen = spanning(one, two, distance[one, two], count)
    expected = nx.minimum_spanning_tree(nx.from_numpy_array(distance)).size(weight="weight")
    assert distance[one, two][chosen].sum() == pytest.approx(expected)


def test_thinned_drops_a_loop_and_a_branch_that_leads_nowhere():
    graph = nx.Graph()
    graph.add_weighted_edges_from([(0, 1, 1.0), (1, 2, 1.0), (0, 2, 1.5), (2, 3, 1.0), (3, 4, 1.0)])
    patch, weight = as_patch(graph)
    left = thinned(patch, range(5), np.array([0, 1, 2]), weight)
    assert sorted(as_graph(patch, left).edges) == [(0, 1), (1, 2)]


def test_one_end_needs_no_tree():
    patch, weight = as_patch(random_graph(1))
    assert len(light_tree(patch, np.array([1]), weight)) == 0
