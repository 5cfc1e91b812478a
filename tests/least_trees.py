"""Lightest trees over a matrix of distances, written apart from the program: what its trees are held against."""

import numpy as np

from rillwright.solvers.routing.graph import Graph


def steiner_pairs(distance, terminals):
    """Lightest tree that joins the terminals, exactly, by dynamic programming over sets of terminals.

    Parameters: distance (n, n), shortest distances, finite between the terminals; terminals, k of the n nodes.
    Returns: pairs of nodes; the tree is the union of the shortest paths between them.
    Time grows with 3^k and 2^k n²: meant for k up to about 12.
    Source: the method of Dreyfus and Wagner, "The Steiner problem in graphs", Networks 1 (1971) 195-207.
    """
    if len(terminals) < 2:
        return []
    *others, root = terminals
    full = (1 << len(others)) - 1
    weight = np.full((full + 1, len(distance)), np.inf)
    split = np.zeros((full + 1, len(distance)), dtype=np.int64)  # part set off where two subtrees meet
    step = np.zeros((full + 1, len(distance)), dtype=np.int64)  # node where the path from here ends
    for bit, terminal in enumerate(others):
        weight[1 << bit] = distance[terminal]
        step[1 << bit] = terminal
    for mask in sorted(range(1, full + 1), key=int.bit_count):
        if mask & (mask - 1) == 0:
            continue
        parts = _halves(mask)
        sums = weight[parts] + weight[mask ^ parts]
        best = np.argmin(sums, axis=0)
        split[mask] = parts[best]
        through = np.take_along_axis(sums, best[None], axis=0) + distance
        step[mask] = np.argmin(through, axis=1)
        weight[mask] = np.take_along_axis(through, step[mask][:, None], axis=1)[:, 0]
    return _unfold(full, root, split, step)


def _halves(mask):
    """Subsets of a set of bits that hold its lowest bit, without the set itself: each split once."""
    low = mask & -mask
    rest = mask ^ low
    parts, part = [], rest
    while part:
        part = (part - 1) & rest
        parts.append(part | low)
    return np.array(parts, dtype=np.int64)


def _unfold(full, root, split, step):
    """Walk the choices back from the whole set at the root."""
    pairs = []
    stack = [(full, root)]
    while stack:
        mask, node = stack.pop()
        meet = int(step[mask, node])
        if meet != node:
            pairs.append((node, meet))
        if mask & (mask - 1):
            part = int(split[mask, meet])
            stack += [(part, meet), (mask ^ part, meet)]
    return pairs


def steiner_weight(distance, terminals):
    """Weight of the lightest tree."""
    return sum(distance[a, b] for a, b in steiner_pairs(distance, terminals))


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
