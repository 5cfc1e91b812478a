"""One graph over all heads and offered valve places, on which many different nets are routed and compared."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.model.plan import Point, Trench
from rillwright.solvers.routing.assembly import RoutedEdge, lay_pipes, lay_trenches
from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.sharing import NetEnds, Router, Tree, net_ends
from rillwright.solvers.routing.surfaces import DigGround

__all__ = ["Board", "Ends", "Held", "Laid", "Net", "Written"]

Ends = tuple[int, ...]  # node numbers of a net, root first, then those where stretches that it must use end


@dataclass(frozen=True, slots=True)
class Held:
    """A line that a net's pipe must follow."""

    id: str
    path: tuple[Point, ...]  # [m]


@dataclass(frozen=True, slots=True)
class Net:
    """Pipes that belong together: the main (entry to valve places) or a zone's laterals (valve place to heads)."""

    id: str
    root: str  # node the water comes from
    terminals: tuple[str, ...]  # nodes it must reach
    pipe_cost: float  # [currency/m]
    laid: tuple[tuple[Point, ...], ...] = ()  # lines of pipe in the ground that this net may use
    held: tuple[Held, ...] = ()  # lines that its pipe must follow


@dataclass(frozen=True, slots=True)
class Laid:
    """Trees of some nets on a board."""

    trees: Mapping[Ends, Tree]  # by the net's ends
    trenches: float  # [currency] each dug once
    lengths: Mapping[str, float]  # [m] of pipe by net
    to_root: Mapping[str, float]  # [m] of pipe from the first net's root to each of its terminals
    left_out: float  # [m] of lines that must be followed, which would lead to no end


@dataclass(frozen=True, slots=True)
class Written:
    """Trees written as pipe runs and trenches; fields as in `Routes`."""

    nodes: dict[str, Point]
    trees: dict[str, tuple[RoutedEdge, ...]]
    trenches: tuple[Trench, ...]
    contents: dict[str, tuple[tuple[str, int], ...]]


@dataclass(frozen=True)
class Board:
    """A graph that does not depend on which heads share a zone, so that nets unchanged keep their trees.

    Nets on it are of new pipe only.
    """

    dig: DigGround
    graph: Graph
    number: Mapping[str, int]  # node of each given point
    held: Mapping[str, tuple[int, ...]]  # edges along each line that some net must use

    def lay(self, nets: Sequence[Net], *, start: Mapping[Ends, Tree], improve: bool = False) -> Laid | None:
        """Route nets; None when some end cannot be reached.

        Parameters: start, trees of known nets, which are kept as they are while the others are routed one after
        another over their open trenches; improve, then route every net again until nothing changes.
        """
        on_graph = [self._on_graph(net) for net in nets]
        if any(len(set(self.graph.parts[list(own.terminals)].tolist())) > 1 for own in on_graph):
            return None
        ends = [own.key for own in on_graph]
        router = Router(self.graph, on_graph, deadline=math.inf)
        trees = [start.get(own, frozenset[int]()) for own in ends]
        for number, own in enumerate(ends):
            if own not in start:
                trees[number] = router.route(number, self._dug(trees))
        if improve:
            trees = router.improve(trees)
        dug = list(frozenset().union(*trees))
        lengths = {net.id: float(self.graph.length[list(tree)].sum()) for net, tree in zip(nets, trees, strict=True)}
        trenches = float(self.graph.trench[dug].sum())
        short = [list(own.sunk - tree) for own, tree in zip(on_graph, trees, strict=True)]
        left_out = sum(float(self.graph.length[edges].sum()) for edges in short)
        known = dict(zip(ends, trees, strict=True))
        return Laid(known, trenches, lengths, self._to_root(nets[0], trees[0]), left_out)

    def write(self, nets: Sequence[Net], laid: Laid, *, names: Mapping[str, str]) -> Written:
        """Write trees as pipes and trenches; names, what points of the nets are to be called, if not as here."""
        called = [""] * (max(self.number.values()) + 1)
        for name, number in self.number.items():
            called[number] = names.get(name, called[number] or name)
        on_graph = {net.id: self._on_graph(net) for net in nets}
        trees = {name: laid.trees[own.key] for name, own in on_graph.items()}
        roots = {net.id: self.number[net.root] for net in nets}
        ends = {name: set(own.terminals) for name, own in on_graph.items()}
        kinds = {net.id: {e: (None, held.id) for held in net.held for e in self.held[held.id]} for net in nets}
        nodes, runs, lies_in = lay_pipes(self.graph, trees, called, roots=roots, ends=ends, kinds=kinds)
        trenches, contents = lay_trenches(self.dig, self.graph, trees, lies_in)
        return Written(nodes, runs, trenches, contents)

    def _on_graph(self, net: Net) -> NetEnds:
        terminals = tuple(dict.fromkeys(self.number[name] for name in (net.root, *net.terminals)))
        return net_ends(self.graph, terminals, net.pipe_cost, held=[self.held[line.id] for line in net.held])

    def _dug(self, trees: Sequence[Tree]) -> NDArray[np.bool_]:
        dug = np.zeros(len(self.graph.first), dtype=bool)
        for tree in trees:
            dug[list(tree)] = True
        return dug

    def _to_root(self, net: Net, tree: Tree) -> dict[str, float]:
        around: dict[int, list[tuple[int, float]]] = {}
        for edge in tree:
            one, two, length = int(self.graph.first[edge]), int(self.graph.second[edge]), float(self.graph.length[edge])
            around.setdefault(one, []).append((two, length))
            around.setdefault(two, []).append((one, length))
        root = self.number[net.root]
        far, stack = {root: 0.0}, [root]
        while stack:
            node = stack.pop()
            for other, length in around.get(node, ()):
                if other not in far:
                    far[other] = far[node] + length
                    stack.append(other)
        return {name: far[self.number[name]] for name in net.terminals}
