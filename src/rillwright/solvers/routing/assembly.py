"""Write trees on the graph as pipe runs and as stretches of trench."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from rillwright.model.plan import Point, Trench
from rillwright.solvers.mains import distances
from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.sharing import Tree
from rillwright.solvers.routing.surfaces import DigGround, Layer

__all__ = ["Kind", "RoutedEdge", "lay_pipes", "lay_trenches"]

STRAIGHT = 1e-3  # [m] a point this near the line through its neighbours is no bend
SAME = 1e-6  # [m] two points this near are one

Contents = tuple[tuple[str, int], ...]
Kind = tuple[int | None, str | None]  # place of the line of pipe in the ground, and line that must be followed


@dataclass(frozen=True, slots=True)
class RoutedEdge:
    """A run of pipe between two nodes that matter: root, terminals and junctions of its net."""

    start: str  # node nearer the root
    end: str
    path: tuple[Point, ...]  # [m]
    length: float  # [m]
    laid: int | None = None  # place in its net's `laid` of the line of pipe in the ground that it is
    held: str | None = None  # the line that it must follow


def lay_pipes(
    graph: Graph,
    trees: Mapping[str, Tree],
    names: Sequence[str],
    *,
    roots: Mapping[str, int],
    ends: Mapping[str, set[int]],
    kinds: Mapping[str, Mapping[int, Kind]],
) -> tuple[dict[str, Point], dict[str, tuple[RoutedEdge, ...]], dict[int, Contents]]:
    """Write each tree as runs directed away from the root, and so by the shortest way where there are loops.

    Parameters: trees by net; names of the given points; roots and ends, node numbers by net; kinds, by net, the
    edges where pipe is in the ground or held.
    Returns: places of the nodes; runs by net; for each graph edge, (net, place of the run in its tree).
    """
    used = sorted(set().union(*ends.values())) if ends else []
    nodes = {names[k]: _at(graph, k) for k in used}
    runs: dict[str, tuple[RoutedEdge, ...]] = {}
    lies_in: dict[int, Contents] = {}
    junctions = 0
    for net, tree in trees.items():
        around = _neighbours(graph, tree)
        labels = {node: names[node] for node in ends[net]}
        own: list[RoutedEdge] = []
        for chain, edges in _chains(around, roots[net], ends[net] | _changes(around, kinds[net])):
            if chain[-1] not in labels:
                junctions += 1
                labels[chain[-1]] = f"J{junctions}"
                nodes[labels[chain[-1]]] = _at(graph, chain[-1])
            for edge in edges:
                lies_in[edge] = (*lies_in.get(edge, ()), (net, len(own)))
            path = _straightened([_at(graph, node) for node in chain])
            laid, held = kinds[net].get(edges[0], (None, None))
            own.append(RoutedEdge(labels[chain[0]], labels[chain[-1]], path, _length(path), laid, held))
        far = distances(own, names[roots[net]])
        runs[net] = tuple(_turned(run) if far[run.end] < far[run.start] else run for run in own)
    return nodes, runs, lies_in


def _turned(run: RoutedEdge) -> RoutedEdge:
    return replace(run, start=run.end, end=run.start, path=run.path[::-1])


def lay_trenches(
    dig: DigGround, graph: Graph, trees: Mapping[str, Tree], lies_in: Mapping[int, Contents]
) -> tuple[tuple[Trench, ...], dict[str, Contents]]:
    """Write the union of all trees as trenches, each in one surface and with the same runs all along it."""
    indoors = set(graph.indoors.tolist())
    dug = [
        edge
        for edge in sorted(frozenset().union(*trees.values()))
        if not {int(graph.first[edge]), int(graph.second[edge])} & indoors and graph.length[edge] > SAME
    ]
    around = _neighbours(graph, dug)
    marks = {node for node, links in around.items() if len(links) != 2 or lies_in[links[0][1]] != lies_in[links[1][1]]}
    trenches: list[Trench] = []
    contents: dict[str, Contents] = {}
    done: set[int] = set()
    for node in sorted(marks):
        for other, edge in around[node]:
            if edge in done:
                continue
            chain, edges = _walk(around, node, other, edge, marks)
            done.update(edges)
            for layer, path in _by_surface(dig, [_at(graph, n) for n in chain]):
                trench = _trench(f"T{len(trenches) + 1}", layer, path, lies_in[edge])
                trenches.append(trench)
                contents[trench.id] = lies_in[edge]
    return tuple(trenches), contents


def _changes(around: "Around", kinds: Mapping[int, Kind]) -> set[int]:
    """Nodes where new pipe meets pipe in the ground or a line that must be followed, or one such line another."""
    return {node for node, links in around.items() if len({kinds.get(edge) for _, edge in links}) > 1}


def _trench(name: str, layer: Layer, path: tuple[Point, ...], held: Contents) -> Trench:
    length = _length(path)
    return Trench(
        id=name,
        path=path,
        surface=layer.name,
        length=length,
        pipes=tuple(dict.fromkeys(net for net, _ in held)),
        sleeve=layer.name == "paving",
        cost=length * layer.per_metre + layer.per_crossing,
    )


def _by_surface(dig: DigGround, points: Sequence[Point]) -> list[tuple[Layer, tuple[Point, ...]]]:
    """Cut a bent line where the surface changes."""
    cut: list[tuple[Layer, list[Point]]] = []
    for start, end in pairwise(points):
        long = max(float(np.hypot(end[0] - start[0], end[1] - start[1])), SAME)
        for layer, low, high in dig.pieces(start, end):
            ends = [
                (start[0] + s / long * (end[0] - start[0]), start[1] + s / long * (end[1] - start[1]))
                for s in (low, high)
            ]
            if cut and cut[-1][0] is layer:
                cut[-1][1].append(ends[1])
            else:
                cut.append((layer, ends))
    return [(layer, _straightened(path)) for layer, path in cut]


Around = dict[int, list[tuple[int, int]]]  # node -> (neighbour, edge)


def _neighbours(graph: Graph, edges: Iterable[int]) -> Around:
    around: Around = {}
    for edge in sorted(edges):
        one, two = int(graph.first[edge]), int(graph.second[edge])
        around.setdefault(one, []).append((two, edge))
        around.setdefault(two, []).append((one, edge))
    return around


def _chains(around: Around, root: int, ends: set[int]) -> list[tuple[list[int], list[int]]]:
    """Runs of a tree, or of a net with loops, between nodes that matter: (nodes, edges) of each, the root's first."""
    marks = {node for node, links in around.items() if len(links) != 2} | ends | {root}
    chains = []
    done: set[int] = set()
    stack = [(root, link) for link in reversed(around.get(root, []))]
    while stack:
        node, (other, edge) = stack.pop()
        if edge in done:
            continue
        chain, edges = _walk(around, node, other, edge, marks)
        done.update(edges)
        chains.append((chain, edges))
        stack += [(chain[-1], link) for link in reversed(around[chain[-1]]) if link[1] != edges[-1]]
    return chains


def _walk(around: Around, node: int, other: int, edge: int, marks: set[int]) -> tuple[list[int], list[int]]:
    """Follow a chain from a node until the next mark: (nodes, edges)."""
    chain, edges = [node, other], [edge]
    while chain[-1] not in marks:
        other, edge = next(link for link in around[chain[-1]] if link[1] != edges[-1])
        chain.append(other)
        edges.append(edge)
    return chain, edges


def _at(graph: Graph, node: int) -> Point:
    return float(graph.points[node, 0]), float(graph.points[node, 1])


def _length(path: Sequence[Point]) -> float:
    return float(np.sum(np.hypot(*np.diff(np.array(path), axis=0).T)))


def _straightened(path: Sequence[Point]) -> tuple[Point, ...]:
    """Drop points that are no bends, and points given twice."""
    kept = [path[0]]
    for here, ahead in pairwise(path[1:]):
        line = np.subtract(ahead, kept[-1])
        off = abs(line[0] * (here[1] - kept[-1][1]) - line[1] * (here[0] - kept[-1][0]))
        if off > STRAIGHT * max(float(np.hypot(*line)), SAME):
            kept.append(here)
    return (*kept, path[-1])
