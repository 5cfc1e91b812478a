"""Several nets routed together: a trench is dug once, whatever number of pipes lies in it."""

import functools
import itertools
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra, floyd_warshall

from rillwright.solvers.routing.graph import Graph, Ints
from rillwright.solvers.routing.steiner import heuristic_tree, path_edges, spanning_tree, steiner_tree
from rillwright.solvers.routing.surfaces import Floats

__all__ = ["NetEnds", "Router", "Tree"]

Tree = frozenset[int]  # edge numbers

EXACT_TERMINALS = 9  # up to this many ends a net's tree is exact on its part of the graph
LEAST_GAIN = 1e-7  # [currency]
PIPES_TOGETHER = (1.0, 2.0)  # pipes in a trench that the trees joining everything allow for
REACH = 1.0  # nodes farther from every end than this share of the widest gap between ends are left aside
LEAST_WEIGHT = 1e-6  # [currency] of any edge: the distance matrix takes less for no edge
ROUNDS = 8  # most times that all nets are improved in turn
SLACK = 1e-6  # [currency/m] prefers the shorter of two equal ways, and keeps an open trench from being free


@dataclass(frozen=True, slots=True)
class NetEnds:
    """A net on the graph."""

    terminals: tuple[int, ...]  # node numbers, root first
    pipe_cost: float  # [currency/m]


class Router:
    """Routes nets over one graph; keeps what it has worked out for the same open trenches."""

    def __init__(self, graph: Graph, nets: Sequence[NetEnds], *, deadline: float) -> None:
        self.graph, self.nets, self.deadline = graph, nets, deadline
        self._numbers = graph.edge_numbers()
        self._known: dict[tuple[int, bytes], Tree] = {}

    @property
    def late(self) -> bool:
        """Whether the time guard has struck."""
        return time.thread_time() > self.deadline

    def cost(self, trees: Sequence[Tree]) -> float:
        """Cost of trenches, each dug once, and of pipes [currency]."""
        dug = list(frozenset().union(*trees))
        pipes = sum(
            net.pipe_cost * float(self.graph.length[list(tree)].sum())
            for net, tree in zip(self.nets, trees, strict=True)
        )
        return float(self.graph.trench[dug].sum()) + pipes

    def solve(self, orders: Iterable[Sequence[int]]) -> list[Tree]:
        """Best trees over several starts: one tree that joins everything, and nets in turn by several orders."""
        starts = itertools.chain(
            (functools.partial(self.together, pipes) for pipes in PIPES_TOGETHER),
            (functools.partial(self.in_turn, order) for order in orders),
        )
        best = self.improve(next(starts)())
        for start in starts:
            if self.late:
                break
            best = self._better(best, self.improve(start()))
        return best

    def together(self, pipes: float) -> list[Tree]:
        """Trees through the trenches of one light tree that joins all ends, with so many pipes in each trench."""
        pipe_cost = pipes * float(np.mean([net.pipe_cost for net in self.nets]))
        whole = list(dict.fromkeys(t for net in self.nets for t in net.terminals))
        undug = np.ones(len(self.graph.first))
        to_dig = undug.copy()
        for part in np.unique(self.graph.parts[whole]):
            ends = tuple(t for t in whole if self.graph.parts[t] == part)
            to_dig[list(self._tree(NetEnds(ends, pipe_cost), undug))] = 0.0
        return [self.route(number, to_dig) for number in range(len(self.nets))]

    def in_turn(self, order: Sequence[int]) -> list[Tree]:
        """Trees one after another, each free to use the trenches of those before it."""
        trees: list[Tree] = [frozenset()] * len(self.nets)
        for number in order:
            trees[number] = self.route(number, self._to_dig(trees))
        return trees

    def improve(self, trees: list[Tree]) -> list[Tree]:
        """Route each net again with the others' trenches open, until nothing changes."""
        for _ in range(ROUNDS):
            before = trees
            for number in range(len(trees)):
                trees = self._better(trees, self._again(trees, number))
            if trees is before or self.late:
                break
        return trees

    def route(self, number: int, to_dig: Floats) -> Tree:
        """Lightest tree found for one net; to_dig (m,) is 1 for each edge to be dug and 0 for an open trench."""
        key = number, to_dig.tobytes()
        if key not in self._known:
            self._known[key] = self._tree(self.nets[number], to_dig)
        return self._known[key]

    def _again(self, trees: list[Tree], number: int) -> list[Tree]:
        """The same trees but one, which is routed again with the others' trenches open."""
        others = [*trees[:number], frozenset[int](), *trees[number + 1 :]]
        return [*trees[:number], self.route(number, self._to_dig(others)), *trees[number + 1 :]]

    def _better(self, trees: list[Tree], trial: list[Tree]) -> list[Tree]:
        return trial if self.cost(trial) < self.cost(trees) - LEAST_GAIN else trees

    def _to_dig(self, trees: Sequence[Tree]) -> Floats:
        to_dig = np.ones(len(self.graph.first))
        for tree in trees:
            to_dig[list(tree)] = 0.0
        return to_dig

    def _tree(self, net: NetEnds, to_dig: Floats) -> Tree:
        """Tree for a net: near part of the graph, distances on it, tree over the distances, paths put in."""
        if len(net.terminals) < 2:
            return frozenset()
        graph = self.graph
        weight = to_dig * graph.trench + (net.pipe_cost + SLACK) * graph.length + LEAST_WEIGHT
        foreign = np.setdiff1d(graph.indoors, net.terminals)
        weight[np.isin(graph.first, foreign) | np.isin(graph.second, foreign)] = np.inf
        nodes = self._near(net, weight)
        place = np.full(len(graph.points), -1)
        place[nodes] = np.arange(len(nodes))
        inside = np.flatnonzero((place[graph.first] >= 0) & (place[graph.second] >= 0) & np.isfinite(weight))
        dense = np.full((len(nodes), len(nodes)), np.inf)
        one, two = place[graph.first[inside]], place[graph.second[inside]]
        dense[one, two] = dense[two, one] = weight[inside]
        distance, before = floyd_warshall(dense, directed=False, return_predecessors=True)
        ends = [int(place[t]) for t in net.terminals]
        pairs = (steiner_tree if len(ends) <= EXACT_TERMINALS else heuristic_tree)(distance, ends)
        edges = {
            self._numbers[int(min(nodes[a], nodes[b])), int(max(nodes[a], nodes[b]))]
            for start, end in pairs
            for a, b in path_edges(before, start, end)
        }
        return self._thin(edges, weight, net.terminals)

    def _near(self, net: NetEnds, weight: Floats) -> Ints:
        """Nodes that a light tree of the net can want: not much farther from an end than ends are from one another."""
        graph, size = self.graph, len(self.graph.points)
        links = csr_array((weight, (graph.first, graph.second)), shape=(size, size))
        ends = list(net.terminals)
        distance = dijkstra(links, directed=False, indices=ends)
        between = distance[:, ends]
        widest = max(float(between[a, b]) for a, b in spanning_tree(between, range(len(ends))))
        return np.flatnonzero(distance.min(axis=0) <= REACH * widest)

    def _thin(self, edges: Iterable[int], weight: Floats, terminals: Sequence[int]) -> Tree:
        """Make a tree of overlapping paths, and cut off ends that lead nowhere."""
        graph = self.graph
        union = nx.Graph()
        union.add_weighted_edges_from((int(graph.first[e]), int(graph.second[e]), weight[e]) for e in sorted(edges))
        tree = nx.minimum_spanning_tree(union)
        wanted = set(terminals)
        leaves = [node for node in tree if tree.degree(node) == 1 and node not in wanted]
        while leaves:
            tree.remove_nodes_from(leaves)
            leaves = [node for node in tree if tree.degree(node) == 1 and node not in wanted]
        return frozenset(self._numbers[min(a, b), max(a, b)] for a, b in tree.edges)
