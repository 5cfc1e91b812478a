"""How a network hangs together, as whole numbers: a spanning tree, and the order in which its nodes are eliminated."""

from collections import deque
from collections.abc import Sequence
from heapq import heapify, heappop, heappush
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillwright.model.network import Network

__all__ = ["Pattern", "find_pattern"]

Whole = NDArray[np.int64]


class Pattern(NamedTuple):
    """How the network hangs together. Nodes are numbered in the order in which they are eliminated."""

    place: Whole  # (nodes,) number of each node, by its column
    source: int
    tails: Whole  # (links,) node
    heads: Whole  # (links,) node
    cells: Whole  # (links,) where the link stands among the matrix's cells
    outlets: Whole  # (outlets,) node
    chords: Whole  # links outside the spanning tree
    tree: Whole  # (nodes - 1, 4) node, node above it, link, whether the link ends at the node; leaves first
    columns: Whole  # (nodes + 1,) where the cells of each node begin
    rows: Whole  # (cells,) neighbour of the node when it is eliminated
    pairs: Whole  # (nodes + 1,) where the pairs of each node's neighbours begin
    targets: Whole  # (pairs,) cell that joins them


def find_pattern(network: Network) -> Pattern:
    """Number the nodes for elimination and list where the numbers of its matrix go.

    Nodes with the fewest neighbours go first; each leaves its neighbours joined to one another. On a tree those are
    leaves, which leave nothing behind, so that elimination takes as many steps as there are nodes.
    """
    index = {node: k for k, node in enumerate(network.elevation)}
    ends = [(index[link.start], index[link.end]) for link in network.links]
    order, rings = _elimination(len(index), ends)
    place = np.empty(len(index), dtype=np.int64)
    place[order] = np.arange(len(index))
    position = place.tolist()
    columns, rows, pairs, targets, cell_of = _cells(position, order, rings)
    ends = [(position[a], position[b]) for a, b in ends]
    source = position[index[network.source]]
    tree, chords = _spanning_tree(len(index), ends, source)
    return Pattern(
        place=place,
        source=source,
        tails=_whole([a for a, _ in ends]),
        heads=_whole([b for _, b in ends]),
        cells=_whole([cell_of[min(end), max(end)] for end in ends]),
        outlets=_whole([position[index[node]] for node in network.outlets]),
        chords=_whole(chords),
        tree=np.array(tree, dtype=np.int64).reshape(-1, 4),
        columns=_whole(columns),
        rows=_whole(rows),
        pairs=_whole(pairs),
        targets=_whole(targets),
    )


def _whole(numbers: Sequence[int]) -> Whole:
    return np.array(numbers, dtype=np.int64)


def _elimination(size: int, ends: Sequence[tuple[int, int]]) -> tuple[list[int], list[set[int]]]:
    """Order nodes by least degree; returns them, and by node its neighbours at that moment."""
    beside: list[set[int]] = [set() for _ in range(size)]
    for a, b in ends:
        beside[a].add(b)
        beside[b].add(a)
    queue = [(len(ring), node) for node, ring in enumerate(beside)]
    heapify(queue)
    order: list[int] = []
    gone = [False] * size
    while queue:
        degree, node = heappop(queue)
        if gone[node] or degree != len(beside[node]):
            continue
        gone[node] = True
        order.append(node)
        ring = beside[node]
        for other in ring:
            beside[other] |= ring
            beside[other] -= {node, other}
            heappush(queue, (len(beside[other]), other))
    return order, beside


def _cells(
    position: Sequence[int], order: Sequence[int], rings: Sequence[set[int]]
) -> tuple[list[int], list[int], list[int], list[int], dict[tuple[int, int], int]]:
    """List the matrix's cells column by column, and for each node the cells that its elimination adds to."""
    columns, rows = [0], list[int]()
    cell_of: dict[tuple[int, int], int] = {}
    for k, node in enumerate(order):
        for other in sorted(position[n] for n in rings[node]):
            cell_of[k, other] = len(rows)
            rows.append(other)
        columns.append(len(rows))
    pairs, targets = [0], []
    for k in range(len(order)):
        targets += [cell_of[pair] for pair in combinations(rows[columns[k] : columns[k + 1]], 2)]
        pairs.append(len(targets))
    return columns, rows, pairs, targets, cell_of


def _spanning_tree(
    size: int, ends: Sequence[tuple[int, int]], source: int
) -> tuple[list[tuple[int, int, int, int]], list[int]]:
    """Search breadth first from the source; returns (node, node above, link, link ends at node) and the chords."""
    beside: list[list[tuple[int, int]]] = [[] for _ in range(size)]
    for link, (a, b) in enumerate(ends):
        beside[a].append((b, link))
        beside[b].append((a, link))
    tree: list[tuple[int, int, int, int]] = []
    seen, waiting = {source}, deque([source])
    while waiting:
        above = waiting.popleft()
        for node, link in beside[above]:
            if node not in seen:
                seen.add(node)
                waiting.append(node)
                tree.append((node, above, link, int(ends[link][1] == node)))
    used = {link for _, _, link, _ in tree}
    return tree[::-1], [link for link in range(len(ends)) if link not in used]
