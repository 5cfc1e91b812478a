"""A cost that no routes on the graph can beat."""

from collections.abc import Sequence

import numpy as np

from rillwright.errors import SolverError
from rillwright.solvers.routing.duals import raise_duals
from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.patches import Ints, Patch
from rillwright.solvers.routing.sharing import NetEnds
from rillwright.solvers.routing.surfaces import Floats

__all__ = ["dual_ascent", "least_cost"]

NO_TRENCH = 1e9  # [currency] for a stretch where none may be dug


def least_cost(graph: Graph, nets: Sequence[NetEnds]) -> float:
    """Lower bound [currency] on the cost of all nets over the graph.

    Trenches together join the ends of every group of nets with ends in common, so they cost at least a tree that
    joins the group. What that bound leaves of the price of a trench is shared among the nets: each net costs at least
    a tree of its own ends at the price of its pipe and at its share of the trench. Where pipe is in the ground already
    or must be laid, neither is charged.
    """
    patch = graph.patch()
    digging = np.minimum(graph.trench, NO_TRENCH)
    digging[list(frozenset().union(*(net.sunk for net in nets)))] = 0.0
    left, bound = digging.copy(), 0.0
    for group in _groups(nets):
        low, used = dual_ascent(patch, group, digging)
        bound, left = bound + low, np.minimum(left, digging - used)
    for net in (net for net in nets if len(net.terminals) > 1):
        pipe = net.pipe_cost * graph.length
        pipe[list(net.sunk)] = 0.0
        low, used = dual_ascent(patch, net.terminals, pipe + left)
        bound, left = bound + low, left - np.maximum(used - pipe, 0.0)
    return bound


def _groups(nets: Sequence[NetEnds]) -> list[list[int]]:
    """Ends of nets that hang together by ends in common, the first net's root first."""
    groups: list[dict[int, None]] = []
    for net in nets:
        joined = [group for group in groups if any(end in group for end in net.terminals)]
        merged = {end: None for group in joined for end in group} | dict.fromkeys(net.terminals)
        groups = [group for group in groups if not any(group is other for other in joined)]
        groups.append(merged)
    return [list(group) for group in groups]


def dual_ascent(patch: Patch, terminals: Sequence[int], weight: Floats) -> tuple[float, Floats]:
    """Lower bound on the weight of a tree that joins some nodes, and how much of each edge's weight it draws on.

    Parameters: terminals, node numbers, the first taken as root; weight (m,) of the edges, at least 0.
    Raises the dual variables of cuts round terminals, one after another as far as the next terminal or the root, until
    each can be reached from the root over used-up arcs.
    Source: the method of Wong, "A dual ascent approach for Steiner tree problems on a directed graph",
    Mathematical Programming 28 (1984) 271-287.
    """
    price = np.maximum(weight, 0.0)
    left = price[patch.edge]
    ends: Ints = np.array(terminals[1:], dtype=np.int64)
    bound = raise_duals(patch.start, patch.other, left, terminals[0], ends)
    if bound < 0:
        stray = ends[int(-1 - bound)]
        raise SolverError(f"Node {stray} of the graph cannot reach node {terminals[0]}: no tree joins them.")
    used = np.zeros(len(weight))
    np.maximum.at(used, patch.edge, price[patch.edge] - left)
    return bound, used
