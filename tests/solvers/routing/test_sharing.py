"""Nets that share trenches, against every choice of trees there is on tiny graphs."""

import numpy as np

from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.sharing import NetEnds, Router


def tiny_graph(seed, nodes=8, edges=10):
    chance = np.random.default_rng(seed)
    pairs = {(int(chance.integers(k)), k) for k in range(1, nodes)}
    while len(pairs) < edges:
        a, b = sorted(chance.choice(nodes, 2, replace=False).tolist())
        pairs.add((a, b))
    first, second = np.array(sorted(pairs)).T
    length = chance.uniform(1, 5, edges)
    trench = length * chance.choice([6.0, 6.0, 20.0], edges)
    none = np.zeros(0, dtype=int)
    return Graph(np.zeros((nodes, 2)), first, second, trench, length, nodes, none, np.zeros(nodes, dtype=int))


def all_trees(graph, terminals):
    """Every set of edges that is a tree holding the terminals, as rows of a table of 0 and 1."""
    edges, nodes = len(graph.first), len(graph.points)
    rows = []
    for mask in range(1, 1 << edges):
        chosen = [e for e in range(edges) if mask >> e & 1]
        if len(chosen) >= nodes:
            continue
        label = list(range(nodes))
        for e in chosen:
            a, b = label[graph.first[e]], label[graph.second[e]]
            if a == b:
                break
            label = [a if x == b else x for x in label]
        else:
            touched = {int(n) for e in chosen for n in (graph.first[e], graph.second[e])}
            if set(terminals) <= touched and len({label[n] for n in touched}) == 1:
                rows.append([mask >> e & 1 for e in range(edges)])
    return np.array(rows, dtype=float)


def least_of_all(graph, nets):
    """Least cost over every choice of one tree for each of three nets."""
    trees = [all_trees(graph, net.terminals) for net in nets]
    pipes = [rows @ graph.length * net.pipe_cost for rows, net in zip(trees, nets, strict=True)]
    best = np.inf
    for first, pipe in zip(trees[0], pipes[0], strict=True):
        still = graph.trench * (1 - first)
        dug = (trees[1] @ still)[:, None] + (trees[2] @ still)[None] - (trees[1] * still) @ trees[2].T
        rest = float((dug + pipes[1][:, None] + pipes[2][None]).min())
        best = min(best, float(graph.trench @ first) + float(pipe) + rest)
    return best


def test_three_nets_cost_what_brute_force_finds():
    """40 random graphs: a main from node to two valve places, and the laterals of a zone from each of them."""
    ratios = []
    for seed in range(40):
        graph = tiny_graph(seed)
        ends = np.random.default_rng(seed).choice(8, 7, replace=False).tolist()
        main = NetEnds((ends[0], ends[1], ends[2]), 1.5)
        nets = [main, NetEnds((ends[1], *ends[3:5]), 1.0), NetEnds((ends[2], *ends[5:7]), 1.0)]
        router = Router(graph, nets, deadline=np.inf)
        ratios.append(router.cost(router.solve([[0, 1, 2], [2, 1, 0], [1, 0, 2]])) / least_of_all(graph, nets))
    print(f"three nets over brute force: worst {max(ratios):.5f}, equal in {np.sum(np.array(ratios) < 1 + 1e-6)} of 40")
    assert min(ratios) >= 1 - 1e-9
    assert max(ratios) <= 1.005
    assert np.sum(np.array(ratios) < 1 + 1e-6) >= 38
