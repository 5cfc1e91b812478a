"""Trees of least weight that join given nodes of a graph, over the matrix of shortest distances.

A tree comes back as pairs of nodes; each pair stands for the shortest path between them.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.routing.surfaces import Floats

__all__ = ["Pairs", "heuristic_tree", "path_edges", "spanning_lengths", "spanning_tree", "steiner_tree"]

Pairs = list[tuple[int, int]]
Ints = NDArray[np.int64]

LEAST_GAIN = 1e-9
PASSES = 20  # most rounds of changing the junctions of one tree
SWAPPING = 20  # up to this many terminals junctions are swapped too; beyond, it costs more time than it saves trench


def steiner_tree(distance: Floats, terminals: Sequence[int]) -> Pairs:
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


def _halves(mask: int) -> Ints:
    """Subsets of a set of bits that hold its lowest bit, without the set itself: each split once."""
    low = mask & -mask
    rest = mask ^ low
    parts, part = [], rest
    while part:
        part = (part - 1) & rest
        parts.append(part | low)
    return np.array(parts, dtype=np.int64)


def _unfold(full: int, root: int, split: Ints, step: Ints) -> Pairs:
    """Walk the choices back from the whole set at the root."""
    pairs: Pairs = []
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


def spanning_lengths(distance: Floats, sets: Ints) -> Floats:
    """Weights of the least spanning trees of many node sets at once, by Prim's method.

    Parameters: distance (n, n); sets (b, m), node numbers, the same count in each row. Returns: (b,).
    """
    rows = np.arange(len(sets))
    nearest = distance[sets[:, :1], sets].copy()
    nearest[:, 0] = np.inf
    outside = np.ones(sets.shape, dtype=bool)
    outside[:, 0] = False
    total: Floats = np.zeros(len(sets))
    for _ in range(sets.shape[1] - 1):
        pick = np.argmin(nearest, axis=1)
        total += nearest[rows, pick]
        outside[rows, pick] = False
        reach = distance[sets[rows, pick][:, None], sets]
        nearest = np.where(outside, np.minimum(nearest, reach), np.inf)
    return total


def spanning_tree(distance: Floats, nodes: Sequence[int]) -> Pairs:
    """Least spanning tree of some nodes, by Prim's method; ties go to the earlier node."""
    ids = np.asarray(nodes)
    nearest = distance[ids[0], ids].copy()
    parent = np.zeros(len(ids), dtype=np.int64)
    outside = np.ones(len(ids), dtype=bool)
    outside[0] = False
    pairs: Pairs = []
    for _ in range(len(ids) - 1):
        pick = int(np.argmin(np.where(outside, nearest, np.inf)))
        outside[pick] = False
        pairs.append((int(ids[parent[pick]]), int(ids[pick])))
        closer = outside & (distance[ids[pick], ids] < nearest)
        nearest[closer] = distance[ids[pick], ids][closer]
        parent[closer] = pick
    return pairs


def heuristic_tree(distance: Floats, terminals: Sequence[int]) -> Pairs:
    """Light tree that joins the terminals: junctions put in, taken out and swapped while that pays.

    Parameters and result as in `steiner_tree`; for any number of terminals. The least spanning tree of terminals
    and junctions prices a choice of junctions; all choices one junction away are priced together.
    """
    fixed = list(dict.fromkeys(terminals))
    candidates = np.setdiff1d(np.flatnonzero(np.isfinite(distance[fixed[0]])), fixed)
    junctions: list[int] = []
    weight = float(spanning_lengths(distance, np.array([fixed]))[0])
    for _ in range(PASSES):
        before = weight
        weight = _put_in(distance, fixed, junctions, candidates, weight)
        weight = _take_out(distance, fixed, junctions, weight)
        if weight > before - LEAST_GAIN and len(fixed) <= SWAPPING:
            weight = _swap(distance, fixed, junctions, candidates, weight)
        if weight > before - LEAST_GAIN:
            break
    return spanning_tree(distance, fixed + junctions)


def _put_in(distance: Floats, fixed: list[int], junctions: list[int], candidates: Ints, weight: float) -> float:
    """Add junctions that make the tree lighter, the best first, each still tried after those before it."""
    candidates = _promising(distance, fixed + junctions, candidates)
    if len(candidates) == 0:
        return weight
    lengths = spanning_lengths(distance, _with_each(fixed + junctions, candidates))
    for pick in [k for k in np.argsort(lengths, kind="stable") if lengths[k] < weight - LEAST_GAIN]:
        trial = float(spanning_lengths(distance, np.array([[*fixed, *junctions, candidates[pick]]]))[0])
        if trial < weight - LEAST_GAIN:
            junctions.append(int(candidates[pick]))
            weight = trial
    return weight


def _take_out(distance: Floats, fixed: list[int], junctions: list[int], weight: float) -> float:
    """Remove junctions without which the tree is no heavier."""
    for junction in list(junctions):
        rest = [other for other in junctions if other != junction]
        trial = float(spanning_lengths(distance, np.array([fixed + rest]))[0])
        if trial <= weight + LEAST_GAIN:
            junctions.remove(junction)
            weight = trial
    return weight


def _swap(distance: Floats, fixed: list[int], junctions: list[int], candidates: Ints, weight: float) -> float:
    """Exchange the one junction for the one candidate that makes the tree lightest."""
    best: tuple[int, int] | None = None
    for place in range(len(junctions)):
        rest = fixed + junctions[:place] + junctions[place + 1 :]
        others = _promising(distance, rest, candidates)
        if len(others) == 0:
            continue
        lengths = spanning_lengths(distance, _with_each(rest, others))
        pick = int(np.argmin(lengths))
        if lengths[pick] < weight - LEAST_GAIN:
            weight, best = float(lengths[pick]), (place, int(others[pick]))
    if best is not None:
        junctions[best[0]] = best[1]
    return weight


def _promising(distance: Floats, nodes: list[int], candidates: Ints) -> Ints:
    """Candidates that can make the spanning tree lighter: no edge to their three nearest longer than its longest.

    A junction pays only where three edges meet, and none of them outweighs the longest edge of the tree without it.
    """
    if len(nodes) < 3:
        return candidates[:0]
    longest = max(distance[pair] for pair in spanning_tree(distance, nodes))
    third = np.partition(distance[np.ix_(candidates, np.array(nodes))], 2, axis=1)[:, 2]
    return np.asarray(candidates[third <= longest + LEAST_GAIN])


def _with_each(nodes: list[int], candidates: Ints) -> Ints:
    """One row for each candidate: the nodes and it."""
    return np.column_stack([np.tile(np.array(nodes, dtype=np.int64), (len(candidates), 1)), candidates])


def path_edges(before: Ints, start: int, end: int) -> Pairs:
    """Edges of the shortest path between two nodes, from the matrix of predecessors."""
    nodes = [end]
    while nodes[-1] != start:
        nodes.append(int(before[start, nodes[-1]]))
    return [(min(a, b), max(a, b)) for a, b in pairwise(nodes)]
