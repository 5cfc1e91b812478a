"""Steiner trees on a graph, against brute force, networkx and each other."""

from itertools import combinations

import networkx as nx
import numpy as np
import pytest
from scipy.sparse.csgraph import floyd_warshall

from rillwright.solvers.routing.steiner import (
    heuristic_tree,
    path_edges,
    spanning_lengths,
    spanning_tree,
    steiner_tree,
)


def random_graph(seed, nodes=11, extra=14):
    """Connected graph of random weights: a random tree and some edges more."""
    chance = np.random.default_rng(seed)
    graph = nx.Graph()
    pairs = [(int(chance.integers(k)), k) for k in range(1, nodes)]
    pairs += [tuple(chance.choice(nodes, 2, replace=False).tolist()) for _ in range(extra)]
    graph.add_weighted_edges_from((a, b, float(chance.uniform(1, 10))) for a, b in pairs)
    return graph


def distances(graph):
    weight = nx.to_numpy_array(graph, nodelist=range(len(graph)), nonedge=np.inf)
    return floyd_warshall(weight, directed=False, return_predecessors=True)


def weight_of(pairs, distance):
    return sum(distance[a, b] for a, b in pairs)


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
    terminals = np.random.default_rng(seed).choice(len(graph), 3 + seed % 4, replace=False).tolist()
    distance, _ = distances(graph)
    assert weight_of(steiner_tree(distance, terminals), distance) == pytest.approx(brute_force(graph, terminals))


def test_exact_tree_as_edges_joins_the_terminals_at_its_weight():
    graph = random_graph(3, nodes=20, extra=25)
    terminals = [0, 4, 7, 11, 19]
    distance, before = distances(graph)
    pairs = steiner_tree(distance, terminals)
    tree = graph.edge_subgraph({edge for a, b in pairs for edge in path_edges(before, a, b)})
    assert nx.is_connected(tree)
    assert set(terminals) <= set(tree)
    assert tree.size(weight="weight") == pytest.approx(weight_of(pairs, distance))


def test_heuristic_tree_stays_near_the_exact_one():
    """60 random graphs of 30 nodes, 8 to 12 terminals."""
    worst = 1.0
    for seed in range(60):
        graph = random_graph(seed + 100, nodes=30, extra=45)
        terminals = np.random.default_rng(seed).choice(30, 8 + seed % 5, replace=False).tolist()
        distance, _ = distances(graph)
        exact = weight_of(steiner_tree(distance, terminals), distance)
        found = weight_of(heuristic_tree(distance, terminals), distance)
        assert found >= exact - 1e-9
        worst = max(worst, found / exact)
    print(f"worst heuristic tree over exact: {worst:.4f}")
    assert worst <= 1.02


@pytest.mark.parametrize("count", [1, 2, 7])
def test_spanning_trees_weigh_what_networkx_finds(count):
    chance = np.random.default_rng(count)
    spots = chance.uniform(size=(12, 2))
    distance = np.linalg.norm(spots[:, None] - spots[None], axis=2)
    sets = np.array([chance.choice(12, count, replace=False) for _ in range(5)])
    complete = nx.from_numpy_array(distance)
    expected = [nx.minimum_spanning_tree(complete.subgraph(row.tolist())).size(weight="weight") for row in sets]
    assert spanning_lengths(distance, sets) == pytest.approx(expected)
    assert weight_of(spanning_tree(distance, sets[0].tolist()), distance) == pytest.approx(expected[0])


def test_one_terminal_needs_no_tree():
    distance = np.array([[0.0, 1.0], [1.0, 0.0]])
    assert steiner_tree(distance, [1]) == []
    assert heuristic_tree(distance, [1]) == []
