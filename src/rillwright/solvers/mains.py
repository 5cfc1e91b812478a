"""The ways that water can take through a main, a tree or with loops in it.

Runs lead from `start`, nearer the entry, to `end`; in a loop the water of some zones runs the other way.
"""

import heapq
from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Sequence
from typing import Protocol, TypeVar

__all__ = [
    "Stretch",
    "carrying",
    "carrying_to",
    "distances",
    "nearest_ways",
    "reached",
    "ring_of",
    "root_of",
    "single_links",
    "ways",
]


class Stretch(Protocol):
    """A run of pipe between two nodes."""

    @property
    def start(self) -> str:
        """Node nearer the entry."""

    @property
    def end(self) -> str:
        """The other node."""

    @property
    def length(self) -> float:
        """Length [m]."""


S = TypeVar("S", bound=Stretch)
N = TypeVar("N", bound=Hashable)


def carrying(main: Sequence[S], root: str, node: str) -> list[S]:
    """Runs that may carry water from the root to a node: all but dead ends, in their order; none without a way."""
    around = _around(_pairs(main))
    gone: set[int] = set()
    count = {end: len(links) for end, links in around.items()}
    ends = [end for end, links in count.items() if links == 1 and end not in (root, node)]
    while ends:
        for other, number in around[ends.pop()]:
            if number not in gone:
                gone.add(number)
                count[other] -= 1
                if count[other] == 1 and other not in (root, node):
                    ends.append(other)
    left = [run for number, run in enumerate(main) if number not in gone]
    return left if node in reached(_pairs(left), root) else []


def carrying_to(main: Sequence[S], root: str, nodes: Iterable[str]) -> dict[str, list[S]]:
    """Runs that may carry water from the root to each of some nodes, as `carrying` gives them; a tree is read once."""
    last = {node: number for node, (_, number) in _nearest(main, root).items() if node != root}
    if len(last) < len(main):  # some run closes a loop, or hangs on nothing
        return {node: carrying(main, root, node) for node in nodes}
    found: dict[str, list[S]] = {}
    for node in nodes:
        way: list[int] = []
        here = node
        while here in last:
            way.append(last[here])
            run = main[way[-1]]
            here = run.start if here == run.end else run.end
        found[node] = [main[number] for number in sorted(way)]
    return found


def distances(main: Sequence[Stretch], root: str) -> dict[str, float]:
    """Length [m] of the shortest way from the root to each node that one reaches."""
    return {node: length for node, (length, _) in _nearest(main, root).items()}


def nearest_ways(main: Sequence[S], root: str) -> dict[str, S]:
    """The last run of the shortest way from the root to each node that one reaches."""
    return {node: main[number] for node, (_, number) in _nearest(main, root).items() if node != root}


def ways(main: Sequence[S], root: str, node: str) -> list[list[S]]:
    """Every way from the root to a node that passes no node twice; a tree has one, a ring two."""
    main = carrying(main, root, node)

    def onward(here: str, passed: tuple[str, ...]) -> Iterator[list[S]]:
        for other, number in around[here]:
            if other == node:
                yield [main[number]]
            elif other not in passed:
                for rest in onward(other, (*passed, other)):
                    yield [main[number], *rest]

    around = _around(_pairs(main))
    return [] if root == node else list(onward(root, (root,)))


def root_of(main: Sequence[Stretch]) -> str:
    """The node that runs leave and none reaches."""
    fed = {run.end for run in main}
    return next(run.start for run in main if run.start not in fed)


def ring_of(main: Sequence[S]) -> list[S]:
    """The runs that can be shut while all nodes stay joined, in their order."""
    alone = single_links(_pairs(main))
    return [run for number, run in enumerate(main) if number not in alone]


def reached(pairs: Sequence[tuple[N, N]], root: N) -> set[N]:
    """Nodes that links, given by their two ends, join to a root; the root among them."""
    around = _around(pairs)
    found, stack = {root}, [root]
    while stack:
        new = {other for other, _ in around[stack.pop()]} - found
        found |= new
        stack += new
    return found


def single_links(pairs: Sequence[tuple[N, N]]) -> set[int]:
    """Numbers of the links without which their two ends are no longer joined.

    Depth-first search, with the earliest node that each node's part can reach by another link (Tarjan, "A note on
    finding the bridges of a graph", Information Processing Letters 2 (1974) 160-161, from memory).
    """
    around = _around(pairs)
    order: dict[N, int] = {}
    low: dict[N, int] = {}
    found: set[int] = set()
    for root in list(around):
        if root in order:
            continue
        order[root] = low[root] = len(order)
        stack = [(root, -1, iter(around[root]))]
        while stack:
            node, came, links = stack[-1]
            step = next(((other, number) for other, number in links if number != came), None)
            if step is None:
                stack.pop()
                if stack:
                    before = stack[-1][0]
                    low[before] = min(low[before], low[node])
                    found |= {came} if low[node] > order[before] else set()
            elif step[0] in order:
                low[node] = min(low[node], order[step[0]])
            else:
                order[step[0]] = low[step[0]] = len(order)
                stack.append((*step, iter(around[step[0]])))
    return found


def _nearest(main: Sequence[Stretch], root: str) -> dict[str, tuple[float, int]]:
    """By node the length of its shortest way and the number of that way's last run, by Dijkstra's method."""
    around = _around(_pairs(main))
    found: dict[str, tuple[float, int]] = {}
    heap = [(0.0, -1, root)] if root in around else []
    while heap:
        length, number, node = heapq.heappop(heap)
        if node not in found:
            found[node] = length, number
            for other, run in around[node]:
                heapq.heappush(heap, (length + main[run].length, run, other))
    return found


def _pairs(main: Iterable[Stretch]) -> list[tuple[str, str]]:
    return [(run.start, run.end) for run in main]


def _around(pairs: Sequence[tuple[N, N]]) -> dict[N, list[tuple[N, int]]]:
    around: dict[N, list[tuple[N, int]]] = defaultdict(list)
    for number, (one, two) in enumerate(pairs):
        around[one].append((two, number))
        around[two].append((one, number))
    return around
