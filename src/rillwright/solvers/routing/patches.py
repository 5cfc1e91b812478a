"""Parts of a graph in the form that the compiled loops take: for each node the arcs that leave it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.routing.kernels import cut_out, out_of_the_way, spanning_forest
from rillwright.solvers.routing.surfaces import Floats

__all__ = ["Ints", "Patch", "make_patch", "part_of", "part_size", "patch_around", "spanning"]

Ints = NDArray[np.int64]

STRETCH = 1.4  # a node is near two ends when the way over it is at most so many times the way between them
OVERSHOOT = 1.2  # of the way to the farthest end, how far ways are followed
LEAST_NODES = 150  # a part has so many nodes, where there are so many
MOST_NODES = 60  # for each end; those most out of the way are left aside


@dataclass(frozen=True, slots=True)
class Patch:
    """Some nodes of a graph and all edges between them, both numbered anew."""

    nodes: Ints  # (n,) number of each node in the graph
    edges: Ints  # (m,) number of each edge in the graph
    first: Ints  # (m,) nodes of the edges
    second: Ints  # (m,)
    start: Ints  # (n + 1,) arcs of node v are start[v] .. start[v + 1] - 1
    other: Ints  # (2 m,) node an arc leads to
    edge: Ints  # (2 m,) edge an arc belongs to

    def local(self, nodes: Sequence[int]) -> Ints:
        """Give the places of some of the graph's nodes, which are all in the patch."""
        return np.searchsorted(self.nodes, np.asarray(nodes, dtype=np.int64))


def make_patch(nodes: Ints, edges: Ints, first: Ints, second: Ints) -> Patch:
    """Lay out arcs. Parameters: first, second (m,), nodes of the edges in the patch's own numbers."""
    tail = np.concatenate([first, second])
    order = np.argsort(tail, kind="stable")
    start = np.searchsorted(tail[order], np.arange(len(nodes) + 1))
    other = np.concatenate([second, first])[order]
    return Patch(nodes, edges, first, second, start, other, np.tile(np.arange(len(edges)), 2)[order])


def patch_around(patch: Patch, ends: Ints, weight: Floats) -> Patch:
    """Cut out the nodes that a light tree of some ends can want: those near the way between two neighbouring ends.

    Parameters: ends, in the patch's numbers; weight (m,). Returns a patch whose numbers refer to the given one.
    """
    if len(patch.nodes) <= LEAST_NODES:
        return part_of(patch, np.arange(len(patch.nodes)))
    near, ratio = out_of_the_way(patch.start, patch.other, patch.edge, weight, ends, OVERSHOOT)
    count = min(max(int(np.sum(ratio <= STRETCH)), LEAST_NODES), part_size(len(ends)))
    return part_of(patch, np.sort(near[np.lexsort((near, ratio))[:count]]))


def part_size(ends: int) -> int:
    """Most nodes in the part of a graph near so many ends."""
    return max(MOST_NODES * ends, LEAST_NODES)


def part_of(patch: Patch, inside: Ints) -> Patch:
    """Some nodes of a patch, in order, with the edges between them."""
    edges, first, second, start, other, edge = cut_out(patch.start, patch.other, patch.edge, inside)
    return Patch(inside, edges, first, second, start, other, edge)


def spanning(one: Ints, two: Ints, weight: Floats, nodes: int) -> Ints:
    """Places of the edges of a least spanning forest.

    Parameters: one < two (m,), nodes of the edges, no pair twice; weight (m,), above 0 and finite; nodes, how many.
    """
    return np.flatnonzero(spanning_forest(one, two, np.argsort(weight, kind="stable"), nodes))
