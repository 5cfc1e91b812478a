"""Several nets routed together: a trench is dug once, whatever number of pipes lies in it."""

import functools
import itertools
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.patches import Ints, Patch, patch_around
from rillwright.solvers.routing.steiner import light_tree, thinned
from rillwright.solvers.routing.surfaces import Floats
from rillwright.solvers.watch import nobody

__all__ = ["NetEnds", "Router", "Tree", "net_ends"]

Tree = frozenset[int]  # edge numbers

LOCAL_ENDS = 60  # a net with more ends is routed over the whole graph, not over the part near it
LEAST_GAIN = 1e-7  # [currency]
PIPES_TOGETHER = (1.0, 2.0)  # pipes in a trench that the trees joining everything allow for
LEAST_WEIGHT = 1e-6  # [currency] of any edge: trees over edges that cost nothing are not trees
STARTED = 0.3  # share of the work that is done when improving begins, about
ROUNDS = 8  # most times that all nets are improved in turn
SLACK = 1e-6  # [currency/m] prefers the shorter of two equal ways, and keeps an open trench from being free


@dataclass(frozen=True, slots=True)
class NetEnds:
    """A net on the graph."""

    terminals: tuple[int, ...]  # node numbers, root first
    pipe_cost: float  # [currency/m]
    laid: frozenset[int] = frozenset()  # edges where this net's pipe is in the ground already
    held: tuple[tuple[int, ...], ...] = ()  # edges along each line that its pipe must follow
    held_ends: tuple[int, ...] = ()  # nodes where those lines end

    @property
    def key(self) -> tuple[int, ...]:
        """What the net joins: nets of one graph with equal keys have equal trees."""
        return (*self.terminals, *self.held_ends)

    @property
    def sunk(self) -> frozenset[int]:
        """Edges whose cost is no matter of choice."""
        return self.laid.union(*self.held)


def net_ends(
    graph: Graph,
    terminals: tuple[int, ...],
    pipe_cost: float,
    *,
    laid: frozenset[int] = frozenset(),
    held: Sequence[tuple[int, ...]] = (),
) -> NetEnds:
    """Put a net on a graph; laid and held are edges, fields as in NetEnds."""
    ends: list[int] = []
    for line in held:
        nodes, counts = np.unique(
            np.concatenate([graph.first[list(line)], graph.second[list(line)]]), return_counts=True
        )
        ends += nodes[counts == 1].tolist()
    return NetEnds(terminals, pipe_cost, laid, tuple(held), tuple(ends))


class Router:
    """Routes nets over one graph; keeps what it has worked out for the same open trenches."""

    def __init__(
        self, graph: Graph, nets: Sequence[NetEnds], *, deadline: float, tell: Callable[[float], None] = nobody
    ) -> None:
        """Parameters: deadline [s] of processor time; tell, whom to tell what share of improving is done."""
        self.graph, self.nets, self.deadline, self.tell = graph, nets, deadline, tell
        self._whole = graph.patch()
        self._patches: dict[int, Patch] = {}
        self._known: dict[tuple[int, bytes], Tree] = {}
        self._held: Tree = frozenset(edge for net in nets for line in net.held for edge in line)

    @property
    def late(self) -> bool:
        """Whether the time guard has struck."""
        return time.thread_time() > self.deadline

    def cost(self, trees: Sequence[Tree]) -> float:
        """Cost of trenches, each dug once, and of pipes [currency]; without lines that must be followed."""
        new = [tree - net.sunk for net, tree in zip(self.nets, trees, strict=True)]
        dug = sorted(frozenset().union(*new) - self._held)
        pipes = sum(
            net.pipe_cost * float(self.graph.length[sorted(tree)].sum())
            for net, tree in zip(self.nets, new, strict=True)
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
            best = min(best, self.improve(start()), key=self.cost)
        return best

    def together(self, pipes: float) -> list[Tree]:
        """Trees through the trenches of one light tree that joins all ends, with so many pipes in each trench."""
        pipe_cost = pipes * float(np.mean([net.pipe_cost for net in self.nets]))
        whole = list(dict.fromkeys(t for net in self.nets for t in net.terminals))
        dug = np.zeros(len(self.graph.first), dtype=bool)
        for part in np.unique(self.graph.parts[whole]):
            ends = tuple(t for t in whole if self.graph.parts[t] == part)
            net = NetEnds(ends, pipe_cost, frozenset().union(*(net.sunk for net in self.nets)))
            dug[light_tree(self._whole, np.array(ends), self._weight(net, self._whole, dug))] = True
        dug[list(self._held)] = True
        trees: list[Tree] = []
        for number in range(len(self.nets)):
            self.tell(STARTED * number / len(self.nets))
            trees.append(self.route(number, dug))
        return trees

    def in_turn(self, order: Sequence[int]) -> list[Tree]:
        """Trees one after another, each free to use the trenches of those before it."""
        trees: list[Tree] = [frozenset()] * len(self.nets)
        dug = np.zeros(len(self.graph.first), dtype=bool)
        for number in order:
            trees[number] = self.route(number, dug)
            dug[list(trees[number] - self.nets[number].laid)] = True
        return trees

    def improve(self, trees: list[Tree], *, kept: frozenset[int] = frozenset()) -> list[Tree]:
        """Route each net but those kept again with the others' trenches open, until nothing changes."""
        trees = list(trees)
        users = np.zeros(len(self.graph.first), dtype=np.int64)
        for net, tree in zip(self.nets, trees, strict=True):
            users[list(tree - net.laid)] += 1
        for round_ in range(ROUNDS):
            changed = False
            for number, tree in enumerate(trees):
                if number in kept:
                    continue
                self.tell(STARTED + (1 - STARTED) * (round_ + number / len(trees)) / ROUNDS)
                laid = self.nets[number].laid
                users[list(tree - laid)] -= 1
                trial = self.route(number, users > 0)
                if self._added(number, trial, users) < self._added(number, tree, users) - LEAST_GAIN:
                    trees[number], changed = trial, True
                users[list(trees[number] - laid)] += 1
            if not changed or self.late:
                break
        return trees

    def route(self, number: int, dug: NDArray[np.bool_]) -> Tree:
        """Lightest tree found for one net; dug (m,) says which trenches are open."""
        net = self.nets[number]
        if len(net.terminals) < 2:
            return frozenset()
        patch = self._patch(number)
        key = number, np.packbits(dug[patch.edges]).tobytes()
        if key not in self._known:
            weight = self._weight(net, patch, dug)
            edges = self._tree(net, patch, weight)
            self._known[key] = frozenset(patch.edges[edges].tolist())
        return self._known[key]

    def _tree(self, net: NetEnds, patch: Patch, weight: Floats) -> Ints:
        """A light tree of a net's ends along the lines that it must follow, less what of them leads to no end."""
        ends = patch.local(net.terminals)
        if not net.held:
            return light_tree(patch, ends, weight)
        wanted = np.unique(patch.local(net.key))
        forced = np.flatnonzero(np.isin(patch.edges, [edge for line in net.held for edge in line]))
        tree = np.union1d(light_tree(patch, wanted, weight), forced)
        return thinned(patch, thinned(patch, tree.tolist(), wanted, weight).tolist(), ends, weight)

    def _added(self, number: int, tree: Tree, users: NDArray[np.int64]) -> float:
        """Cost of a net's pipes and of the trenches that it alone needs [currency]."""
        edges = sorted(tree - self.nets[number].sunk)
        digging = np.where(users[edges] == 0, self.graph.trench[edges], 0.0)
        return float((digging + self.nets[number].pipe_cost * self.graph.length[edges]).sum())

    def _patch(self, number: int) -> Patch:
        """Part of the graph that a net is routed over, whatever trenches are open."""
        net = self.nets[number]
        if len(net.terminals) > LOCAL_ENDS:
            return self._whole
        if number not in self._patches:
            weight = self._weight(net, self._whole, np.zeros(len(self.graph.first), dtype=bool))
            lines = [self.graph.first[list(line)] for line in net.held] + [
                self.graph.second[list(line)] for line in net.held
            ]
            around = np.unique(np.concatenate([np.array(net.key), *lines]))
            self._patches[number] = patch_around(self._whole, around if net.held else np.array(net.terminals), weight)
        return self._patches[number]

    def _weight(self, net: NetEnds, patch: Patch, dug: NDArray[np.bool_]) -> Floats:
        """Cost of each edge of a patch to a net; infinite at an indoor point of another net."""
        graph, edges = self.graph, patch.edges
        weight = np.where(dug[edges], 0.0, graph.trench[edges]) + (net.pipe_cost + SLACK) * graph.length[edges]
        if net.sunk:
            weight[np.isin(edges, list(net.sunk))] = 0.0
        foreign = np.setdiff1d(graph.indoors, net.terminals)
        if len(foreign):
            weight[np.isin(graph.first[edges], foreign) | np.isin(graph.second[edges], foreign)] = np.inf
        weight += LEAST_WEIGHT
        if net.held:  # least of all, so that of a loop through one another stretch is left out
            weight[np.isin(edges, [edge for line in net.held for edge in line])] = LEAST_WEIGHT / 2
        return weight
