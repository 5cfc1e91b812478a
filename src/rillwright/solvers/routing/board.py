"""One graph over all heads and offered valve places, on which many different nets are routed and compared."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.model.plan import Point, Trench
from rillwright.solvers.routing.assembly import RoutedEdge, lay_pipes, lay_trenches
from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.sharing import NetEnds, Router, Tree
from rillwright.solvers.routing.surfaces import DigGround

__all__ = ["Board", "Ends", "Laid", "Net", "Written"]

Ends = tuple[int, ...]  # node numbers of a net, root first


@dataclass(frozen=True, slots=True)
class Net:
    """Pipes that belong together: the main (entry to valve places) or a zone's laterals (valve place to heads)."""

    id: str
    root: str  # node the water comes from
    terminals: tuple[str, ...]  # nodes it must reach
    pipe_cost: float  # [currency/m]
    laid: tuple[tuple[Point, ...], ...] = ()  # lines of pipe in the ground that this net may use


@dataclass(frozen=True, slots=True)
class Laid:
    """Trees of some nets on a board."""

    trees: Mapping[Ends, Tree]  # by the net's ends
    trenches: float  # [currency] each dug once
    lengths: Mapping[str, float]  # [m] of pipe by net
    to_root: Mapping[str, float]  # [m] of pipe from the first net's root to each of its terminals


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

    def lay(self, nets: Sequence[Net], *, start: Mapping[Ends, Tree], improve: bool = False) -> Laid | None:
        """Route nets; None when some end cannot be reached.

        Parameters: start, trees of known nets, which are kept as they are while the others are routed one after
        another over their open trenches; improve, then route every net again until nothing changes.
        """
        ends = [self._ends(net) for net in nets]
        if any(len(set(self.graph.parts[list(own)].tolist())) > 1 for own in ends):
            return None
        on_graph = [NetEnds(own, net.pipe_cost) for own, net in zip(ends, nets, strict=True)]
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
        return Laid(dict(zip(ends, trees, strict=True)), trenches, lengths, self._to_root(nets[0], trees[0]))

    def write(self, nets: Sequence[Net], laid: Laid, *, names: Mapping[str, str]) -> Written:
        """Write trees as pipes and trenches; names, what points of the nets are to be called, if not as here."""
        called = [""] * (max(self.number.values()) + 1)
        for name, number in self.number.items():
            called[number] = names.get(name, called[number] or name)
        trees = {net.id: laid.trees[self._ends(net)] for net in nets}
        roots = {net.id: self.number[net.root] for net in nets}
        ends = {net.id: set(self._ends(net)) for net in nets}
        nodes, runs, lies_in = lay_pipes(
            self.graph, trees, called, roots=roots, ends=ends, laid={net.id: {} for net in nets}
        )
        trenches, contents = lay_trenches(self.dig, self.graph, trees, lies_in)
        return Written(nodes, runs, trenches, contents)

    def _ends(self, net: Net) -> Ends:
        return tuple(dict.fromkeys(self.number[name] for name in (net.root, *net.terminals)))

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
