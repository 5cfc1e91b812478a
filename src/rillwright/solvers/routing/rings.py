"""A main closed to a ring: each of its ends fed from two sides, by trenches of its own.

Statement. Given the tree of a net, add ways through the graph, none of them along the tree, so that shutting any one
stretch leaves all ends joined to the root; the cost of what is added is least. The ways on offer are the cheapest
between each two nodes of the tree. Choosing among them so that every stretch of the tree is passed by one is a set
cover (weighted tree augmentation), solved by HiGHS without a gap. Then every stretch that the ring no longer needs is
left out, the dearest first. Trenches that other nets dig cost pipe alone. A way nearer than 0.5 m to the tree's own
trench for more than half its length is none: a spade that cuts the one cuts the other. What no way can pass, such as
the stretch inside a house, stays single. No seed. See docs/theory/routing.md.
"""

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from rillwright.errors import SolverError
from rillwright.solvers.mains import reached, single_links
from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.sharing import NetEnds, Tree
from rillwright.solvers.routing.surfaces import Floats

__all__ = ["close_ring"]

APART = 0.5  # [m] between two trenches that one mishap shall not cut; judgement
BESIDE = 100.0  # [currency/m] that keeps ways from running within that distance; ranks ways only
LEAST = 1e-6  # [currency] of any stretch, so that a way over free ones has a length


def close_ring(graph: Graph, tree: Tree, net: NetEnds, dug: NDArray[np.bool_]) -> Tree:
    """Close a net's tree.

    Parameters: tree, edge numbers; net, its ends, root first; dug (m,), trenches that other nets have open.
    Returns: the edges of the closed net; the tree itself where no way can be added.
    """
    price = np.where(dug, 0.0, graph.trench) + net.pipe_cost * graph.length
    price[list(net.sunk)] = 0.0
    links = _links(graph, tree, price)
    rows = sorted({edge for link in links for edge in link.passes})
    if not rows:
        return tree
    passes = np.array([[edge in link.passes for link in links] for edge in rows], dtype=float)
    cost = np.array([link.cost for link in links])
    found = milp(
        cost,
        constraints=LinearConstraint(csr_array(passes), 1.0, np.inf),
        bounds=Bounds(0, 1),
        integrality=np.ones(len(links)),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise SolverError(f"ring of the main: the solver stopped with '{found.message}'")
    chosen = [link for link, take in zip(links, found.x, strict=True) if take > 0.5]
    return _thinned(graph, tree.union(*(link.way for link in chosen)), net, price)


class _Link:
    """A way on offer between two nodes of the tree."""

    def __init__(self, way: Iterable[int], passes: Iterable[int], cost: float) -> None:
        self.way, self.passes, self.cost = frozenset(way), frozenset(passes), cost


def _links(graph: Graph, tree: Tree, price: Floats) -> list[_Link]:
    """Cheapest ways between nodes of the tree that pass no other node of it."""
    beside = _beside(graph, tree)
    weight = price + BESIDE * beside + LEAST
    indoors = set(graph.indoors.tolist())
    usable = np.isfinite(weight)
    usable[list(tree)] = False
    usable &= ~(np.isin(graph.first, list(indoors)) | np.isin(graph.second, list(indoors)))
    edges = np.flatnonzero(usable)
    one, two = graph.first[edges].astype(np.int32), graph.second[edges].astype(np.int32)
    size = len(graph.points)
    number = {(int(a), int(b)): int(e) for a, b, e in zip(one, two, edges, strict=True)}
    own = sorted(tree)
    nodes = sorted({node for pair in _pairs(graph, own) for node in pair})
    far, before = dijkstra(
        csr_array((weight[edges], (one, two)), shape=(size, size)),
        directed=False,
        indices=nodes,
        return_predecessors=True,
    )
    between = far[:, nodes]
    links = []
    for i, a in enumerate(nodes):
        along = _ways_along(_pairs(graph, own), a)
        for j in range(i + 1, len(nodes)):
            direct = between[i, j]
            over = np.delete(between[i] + between[j], [i, j])
            if not np.isfinite(direct) or bool(np.any(over <= direct * (1 + 1e-9))):
                continue
            way = _way(before[i], a, nodes[j], number)
            if beside[way].sum() <= 0.5 * graph.length[way].sum():
                links.append(_Link(way, (own[k] for k in along[nodes[j]]), float(direct)))
    return links


def _way(before: NDArray[np.int32], start: int, end: int, number: dict[tuple[int, int], int]) -> list[int]:
    way = []
    while end != start:
        last = int(before[end])
        way.append(number[min(last, end), max(last, end)])
        end = last
    return way


def _beside(graph: Graph, tree: Tree) -> Floats:
    """Length [m] of each edge that lies too near the tree's own trenches."""
    lines = shapely.linestrings(np.stack([graph.points[graph.first], graph.points[graph.second]], axis=1))
    band = shapely.buffer(shapely.union_all(lines[sorted(tree)]), APART)
    near = shapely.STRtree(lines).query(band, predicate="intersects")
    found = np.zeros(len(lines))
    found[near] = shapely.length(shapely.intersection(lines[near], band))
    return found


def _thinned(graph: Graph, edges: Tree, net: NetEnds, price: Floats) -> Tree:
    """Leave out what the ring does not need, the dearest stretch first."""
    kept, ends = sorted(edges), set(net.terminals)
    fast = net.sunk - net.laid
    while True:
        single = {kept[k] for k in single_links(_pairs(graph, kept))}
        trials = (
            _without_loose(graph, [e for e in kept if e != shut], ends) for shut in kept if shut not in single | fast
        )
        sound = [trial for trial in trials if _as_sound(graph, trial, ends, single)]
        best = min(sound, key=lambda trial: float(price[trial].sum()), default=kept)
        if price[best].sum() > price[kept].sum() - LEAST:
            return frozenset(kept)
        kept = best


def _without_loose(graph: Graph, edges: Sequence[int], ends: set[int]) -> list[int]:
    """Edges less those that lead to nothing."""
    kept = list(edges)
    while True:
        count = Counter(node for pair in _pairs(graph, kept) for node in pair)
        loose = {node for node, number in count.items() if number < 2 and node not in ends}
        if not loose:
            return kept
        kept = [e for e, pair in zip(kept, _pairs(graph, kept), strict=True) if not loose.intersection(pair)]


def _as_sound(graph: Graph, edges: Sequence[int], ends: set[int], single: set[int]) -> bool:
    """Whether edges join all ends, with no stretch single that was not so before."""
    pairs = _pairs(graph, edges)
    return ends <= reached(pairs, min(ends)) and {edges[k] for k in single_links(pairs)} <= single


def _pairs(graph: Graph, edges: Sequence[int]) -> list[tuple[int, int]]:
    return [(int(graph.first[e]), int(graph.second[e])) for e in edges]


def _ways_along(pairs: Sequence[tuple[int, int]], start: int) -> dict[int, list[int]]:
    """By node of a tree, the numbers of the pairs on the way from a node to it."""
    around: dict[int, list[tuple[int, int]]] = {}
    for number, (one, two) in enumerate(pairs):
        around.setdefault(one, []).append((two, number))
        around.setdefault(two, []).append((one, number))
    found: dict[int, list[int]] = {start: []}
    stack = [start]
    while stack:
        here = stack.pop()
        for other, number in around[here]:
            if other not in found:
                found[other] = [*found[here], number]
                stack.append(other)
    return found
