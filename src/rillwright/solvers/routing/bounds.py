"""A cost that no routes on the graph can beat."""

import heapq
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import SolverError
from rillwright.solvers.routing.graph import Graph, Ints
from rillwright.solvers.routing.sharing import NetEnds
from rillwright.solvers.routing.surfaces import Floats

__all__ = ["dual_ascent", "least_cost"]

SPENT = 1e-9  # [currency] an arc with no more left than this is used up


def least_cost(graph: Graph, nets: Sequence[NetEnds]) -> float:
    """Lower bound [currency] on the cost of all nets over the graph.

    Trenches together join the ends of every group of nets with ends in common, so they cost at least a tree that
    joins the group; each net's pipes are at least as long as a tree that joins its own ends.
    """
    groups: list[set[int]] = []
    for net in nets:
        ends = set(net.terminals)
        for group in [g for g in groups if g & ends]:
            groups.remove(group)
            ends |= group
        groups.append(ends)
    dug = max((dual_ascent(graph, sorted(group), graph.trench) for group in groups), default=0.0)
    pipes = (dual_ascent(graph, net.terminals, net.pipe_cost * graph.length) for net in nets if net.pipe_cost > 0)
    return dug + sum(pipes)


def dual_ascent(graph: Graph, terminals: Sequence[int], weight: Floats) -> float:
    """Lower bound on the weight of a tree over the graph that joins some nodes.

    Parameters: terminals, node numbers, the first taken as root; weight (m,) of the edges, at least 0.
    Raises the dual variables of cuts round groups of terminals until each can reach the root over used-up arcs.
    Source: the method of Wong, "A dual ascent approach for Steiner tree problems on a directed graph",
    Mathematical Programming 28 (1984) 271-287.
    """
    root, *others = terminals
    tail = np.concatenate([graph.first, graph.second])
    head = np.concatenate([graph.second, graph.first])
    left = np.tile(np.maximum(weight, 0.0), 2)
    reach = {terminal: np.arange(len(graph.points)) == terminal for terminal in others}
    bound = 0.0
    queue = [(0, terminal) for terminal in others]
    heapq.heapify(queue)
    while queue:
        size, terminal = heapq.heappop(queue)
        cut = _grow(reach[terminal], tail, head, left)
        if reach[terminal][root]:
            continue
        if len(cut) == 0:
            raise SolverError(f"Node {terminal} of the graph cannot reach node {root}: no tree joins them.")
        if len(cut) > size and queue and len(cut) > queue[0][0]:
            heapq.heappush(queue, (len(cut), terminal))
            continue
        rise = float(left[cut].min())
        left[cut] -= rise
        bound += rise
        heapq.heappush(queue, (len(cut), terminal))
    return bound


def _grow(reached: NDArray[np.bool_], tail: Ints, head: Ints, left: Floats) -> Ints:
    """Add to a set of nodes those from which it is reached over used-up arcs; return the arcs into what it became."""
    while True:
        cut = np.flatnonzero(reached[head] & ~reached[tail])
        used_up = cut[left[cut] <= SPENT]
        if len(used_up) == 0:
            return cut
        reached[tail[used_up]] = True
