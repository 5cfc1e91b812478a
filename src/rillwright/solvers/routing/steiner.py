"""Trees of least weight that join given nodes of a graph: exact for few ends, by exact windows for many."""

import heapq
import math
from collections.abc import Iterable, Sequence

import numpy as np

from rillwright.solvers.routing.duals import raise_and_restore, room_for, twins
from rillwright.solvers.routing.kernels import lightest_tree, ways_from
from rillwright.solvers.routing.patches import Ints, Patch, part_of, part_size, patch_around, spanning
from rillwright.solvers.routing.surfaces import Floats

__all__ = ["light_tree", "thinned"]

EXACT_WORK = 30_000_000  # sets of ends times nodes up to which a tree is exact: 12 ends on 150 nodes, 9 on 4,500
WINDOW = 7  # ends of the windows in which a larger tree is made exact
SWEEPS = 3  # times that windows are laid over the whole tree
LEAST_GAIN = 1e-7  # [currency]

Links = dict[int, set[tuple[int, int]]]  # node -> (neighbour, edge)


def light_tree(patch: Patch, ends: Ints, weight: Floats) -> Ints:
    """Edges of a light tree that joins some nodes of a patch.

    Parameters: ends, different nodes joined by the patch; weight (m,), above 0, infinite where no tree may go.
    The tree starts from the spanning tree over shortest ways. Wherever it has a piece with WINDOW ends, that piece is
    made the lightest; then, with few enough ends, the whole. A lighter tree is looked for on the nodes that dual ascent
    leaves for it, or, if these are many, on the part of the patch near the ends.
    """
    if len(ends) < 2:
        return np.zeros(0, dtype=np.int64)
    tree, pieces = spanning_tree(patch, ends, weight), _Pieces(patch, weight)
    for sweep in range(SWEEPS if len(ends) > WINDOW else 0):
        better = thinned(patch, _swept(pieces, tree, ends, late=sweep % 2 == 1), ends, weight)
        if weight[better].sum() > weight[tree].sum() - LEAST_GAIN:
            break
        tree = better
    if 3 ** (len(ends) - 1) * min(len(patch.nodes), part_size(len(ends))) > EXACT_WORK:
        return tree
    lighter = pieces.lighter(ends.tolist(), float(weight[tree].sum()))
    return lighter if len(lighter) else tree


class _Pieces:
    """Lightest trees of a few ends on one patch, with what is known of each; what they need room for is made once."""

    def __init__(self, patch: Patch, weight: Floats) -> None:
        self.patch, self.weight = patch, weight
        self._twin, self._price = twins(patch.edge, len(patch.edges)), weight[patch.edge]
        self._left, self._room = self._price.copy(), room_for(len(patch.nodes))
        self._touched = np.empty(len(patch.edge), dtype=np.int64)
        self._least: dict[tuple[int, ...], float] = {}  # what no tree of some ends weighs less than

    def lighter(self, ends: Sequence[int], known: float) -> Ints:
        """Edges of the lightest tree of a few ends if it is lighter than a known one, else none.

        Time grows with 3^ends, and with 2^ends times the edges near them.
        Source: Dreyfus and Wagner, "The Steiner problem in graphs", Networks 1 (1971) 195-207; the step along paths by
        Dijkstra's method: Erickson, Monma and Veinott, Mathematics of Operations Research 12 (1987) 634-664.
        """
        most, key, nodes = known - LEAST_GAIN, tuple(ends), np.array(ends)
        if self._least.get(key, 0.0) > most:
            return nodes[:0]
        self._least[key], near = self._near(nodes, most)
        if len(near) == 0:
            return nodes[:0]
        patch, weight = self.patch, self.weight
        few = len(near) <= part_size(len(ends))
        part = part_of(patch, near) if few else patch_around(patch, nodes, weight)
        local = part.local(key)
        kept = lightest_tree(part.start, part.other, part.edge, weight[part.edges], local, most)
        found = np.sort(part.edges[kept])
        self._least[key] = float(weight[found].sum()) if len(found) else math.nextafter(most, math.inf)
        return found

    def _near(self, ends: Ints, most: float) -> tuple[float, Ints]:
        """What no tree that joins some ends weighs less than, and the nodes of those of `most`, by dual ascent."""
        start, other, twin, price = self.patch.start, self.patch.other, self._twin, self._price
        room = (*self._room, self._touched)
        low, near = raise_and_restore(start, other, twin, price, self._left, ends[0], ends[1:], most, *room)
        return float(low), near


def spanning_tree(patch: Patch, ends: Ints, weight: Floats) -> Ints:
    """Edges of the tree that joins ends by shortest ways, as a spanning tree of them; at most twice the lightest.

    Source: Kou, Markowsky and Berman, Acta Informatica 15 (1981) 141-145, in the form of Mehlhorn, Information
    Processing Letters 27 (1988) 125-128: only ways between ends whose neighbourhoods touch are looked at.
    """
    label, owner, toward = ways_from(patch.start, patch.other, patch.edge, weight, ends, ends[:0], 1.0)
    one, two = owner[patch.first], owner[patch.second]
    joins = np.flatnonzero((one != two) & (one >= 0) & (two >= 0) & np.isfinite(weight))
    way = label[patch.first[joins]] + weight[joins] + label[patch.second[joins]]
    pair = np.minimum(one[joins], two[joins]) * len(ends) + np.maximum(one[joins], two[joins])
    order = np.lexsort((joins, way, pair))
    least = order[np.concatenate([[True], np.diff(pair[order]) > 0])]
    low, high = np.divmod(pair[least], len(ends))
    bridges = joins[least][spanning(low, high, way[least], len(ends))]
    edges: set[int] = set(bridges.tolist())
    for bridge in bridges.tolist():
        for node in (int(patch.first[bridge]), int(patch.second[bridge])):
            while toward[node] >= 0:
                edge = int(toward[node])
                edges.add(edge)
                node = int(patch.first[edge] + patch.second[edge]) - node
    return thinned(patch, edges, ends, weight)


def thinned(patch: Patch, edges: Iterable[int], ends: Ints, weight: Floats) -> Ints:
    """Make a tree of overlapping paths, and cut off branches that lead to no end."""
    kept = np.unique(np.fromiter(edges, dtype=np.int64))
    nodes, numbers = np.unique(np.concatenate([patch.first[kept], patch.second[kept]]), return_inverse=True)
    one, two = numbers[: len(kept)], numbers[len(kept) :]
    if len(kept) >= len(nodes):
        stays = spanning(np.minimum(one, two), np.maximum(one, two), weight[kept], len(nodes))
        kept, one, two = kept[stays], one[stays], two[stays]
    wanted = np.isin(nodes, ends)
    while True:
        degree = np.bincount(one, minlength=len(nodes)) + np.bincount(two, minlength=len(nodes))
        dead = (degree == 1) & ~wanted
        cut = dead[one] | dead[two]
        if not cut.any():
            return kept
        kept, one, two = kept[~cut], one[~cut], two[~cut]


def _swept(pieces: _Pieces, tree: Ints, ends: Ints, *, late: bool) -> set[int]:
    """Lay windows over a tree, one beside the other, and make each the lightest of its ends."""
    patch, weight = pieces.patch, pieces.weight
    links: Links = {}
    for edge in tree.tolist():
        _link(patch, links, edge)
    wanted = set(ends.tolist())
    covered: set[int] = set()
    for centre in sorted(links, reverse=late):
        if centre in covered or centre not in links:
            continue
        inside, old = _window(links, centre, wanted, weight)
        borders = [n for n in sorted(inside) if n in wanted or any(edge not in old for _, edge in links[n])]
        covered |= inside.difference(borders) | {centre}
        if len(borders) < 3:
            continue
        new = pieces.lighter(borders, float(weight[sorted(old)].sum()))
        if len(new):
            for edge in old:
                _unlink(patch, links, edge)
            for edge in new.tolist():
                _link(patch, links, edge)
    return {edge for near in links.values() for _, edge in near}


def _window(links: Links, centre: int, wanted: set[int], weight: Floats) -> tuple[set[int], set[int]]:
    """Nodes and edges of the piece of a tree round a node that has at most WINDOW ends, its borders among them."""
    inside, old = {centre}, set[int]()
    loose = {centre: len(links[centre])}  # edges at each node inside that are not in the piece
    borders = 1
    front = [(float(weight[edge]), other, edge, centre) for other, edge in links[centre]]
    heapq.heapify(front)
    while front:
        far, node, edge, before = heapq.heappop(front)
        if node in inside:
            continue
        loose[node] = len(links[node]) - 1
        borders += int(loose[node] > 0 or node in wanted) - int(loose[before] == 1 and before not in wanted)
        if borders > WINDOW:
            break
        loose[before] -= 1
        inside.add(node)
        old.add(edge)
        for other, beyond in links[node]:
            if beyond != edge:
                heapq.heappush(front, (far + float(weight[beyond]), other, beyond, node))
    return inside, old


def _link(patch: Patch, links: Links, edge: int) -> None:
    one, two = int(patch.first[edge]), int(patch.second[edge])
    links.setdefault(one, set()).add((two, edge))
    links.setdefault(two, set()).add((one, edge))


def _unlink(patch: Patch, links: Links, edge: int) -> None:
    one, two = int(patch.first[edge]), int(patch.second[edge])
    links[one].discard((two, edge))
    links[two].discard((one, edge))
