"""Loops over the arcs of a graph, compiled. Arcs of node v are numbered start[v] .. start[v+1]-1.

Each arc has the node it leads to (`other`) and the edge it belongs to (`edge`); weights are by edge.
"""

from typing import Any

import numpy as np
from numba import njit

__all__ = ["cut_out", "lightest_tree", "out_of_the_way", "pop", "spanning_forest", "up", "ways_from"]

Array = Any


@njit(cache=True)
def up(heap: Array, place: Array, key: Array, spot: int) -> None:
    """Move a node that got a lesser key up a heap from its spot; place has the spot of each node."""
    node = heap[spot]
    while spot > 0:
        above = (spot - 1) >> 1
        if key[heap[above]] <= key[node]:
            break
        heap[spot] = heap[above]
        place[heap[spot]] = spot
        spot = above
    heap[spot] = node
    place[node] = spot


@njit(cache=True)
def put(heap: Array, place: Array, key: Array, size: int, node: int) -> int:
    """Put a node on a heap of `size` nodes, or move it up there when it got a lesser key; returns the new size."""
    if place[node] < 0:
        heap[size], place[node] = node, size
        size += 1
    up(heap, place, key, place[node])
    return size


@njit(cache=True)
def pop(heap: Array, place: Array, key: Array, size: int) -> int:
    """Take the least node off a heap of `size` nodes."""
    least, node = heap[0], heap[size - 1]
    place[least] = -1
    spot, size = 0, size - 1
    while 2 * spot + 1 < size:
        below = 2 * spot + 1
        if below + 1 < size and key[heap[below + 1]] < key[heap[below]]:
            below += 1
        if key[heap[below]] >= key[node]:
            break
        heap[spot] = heap[below]
        place[heap[spot]] = spot
        spot = below
    if size > 0:
        heap[spot] = node
        place[node] = spot
    return int(least)


@njit(cache=True)
def _spread(
    start: Array, other: Array, edge: Array, weight: Array, label: Array, back: Array, rest: Array, limit: float
) -> None:
    """Lower the labels of all nodes to what their neighbours allow, by Dijkstra's method.

    back gets -1 - arc where a label came over an arc; labels that with `rest` pass `limit` go no farther.
    """
    nodes = len(label)
    heap, place, size = np.empty(nodes, np.int64), np.full(nodes, -1, np.int64), 0
    for node in range(nodes):
        if label[node] < np.inf and label[node] + rest[node] <= limit:
            size = put(heap, place, label, size, node)
    while size > 0:
        node = pop(heap, place, label, size)
        size -= 1
        for arc in range(start[node], start[node + 1]):
            near, there = other[arc], label[node] + weight[edge[arc]]
            if there < label[near] and there + rest[near] <= limit:
                label[near], back[near] = there, -1 - arc
                size = put(heap, place, label, size, near)


@njit(cache=True)
def ways_from(
    start: Array, other: Array, edge: Array, weight: Array, sources: Array, targets: Array, stretch: float
) -> tuple[Array, Array, Array]:
    """For each node the nearest of some sources: distance, that source's place in `sources`, and the edge toward it.

    Nodes farther than `stretch` times the farthest target are at an infinite distance; with no targets, none.
    """
    nodes = len(start) - 1
    label, owner, toward = np.full(nodes, np.inf), np.full(nodes, -1, np.int64), np.full(nodes, -1, np.int64)
    heap, place, size = np.empty(nodes, np.int64), np.full(nodes, -1, np.int64), 0
    for number in range(len(sources)):
        label[sources[number]], owner[sources[number]] = 0.0, number
        heap[size], place[sources[number]] = sources[number], size
        size += 1
    wanted, reach, left = np.zeros(nodes, np.bool_), np.inf, 0
    for node in targets:
        left += not wanted[node]
        wanted[node] = True
    while size > 0:
        node = pop(heap, place, label, size)
        size -= 1
        if label[node] > reach:
            label[node] = np.inf
            continue
        if wanted[node]:
            left -= 1
            if left == 0:
                reach = stretch * label[node]
        for arc in range(start[node], start[node + 1]):
            near, there = other[arc], label[node] + weight[edge[arc]]
            if there < label[near] and there <= reach:
                label[near], owner[near], toward[near] = there, owner[node], edge[arc]
                size = put(heap, place, label, size, near)
    return label, owner, toward


@njit(cache=True)
def spanning_forest(one: Array, two: Array, order: Array, nodes: int) -> Array:
    """Say for each edge whether it is in the least spanning forest; order, the edges by rising weight (Kruskal)."""
    chosen, above, left = np.zeros(len(one), np.bool_), np.arange(nodes), nodes - 1
    for edge in order:
        a, b = one[edge], two[edge]
        while above[a] != a:
            above[a] = above[above[a]]
            a = above[a]
        while above[b] != b:
            above[b] = above[above[b]]
            b = above[b]
        if a != b:
            above[b], chosen[edge] = a, True
            left -= 1
            if left == 0:
                break
    return chosen


@njit(cache=True)
def _doubled(values: Array) -> Array:
    """The values in an array with twice the room."""
    room = np.empty(2 * len(values), values.dtype)
    for k in range(len(values)):
        room[k] = values[k]
    return room


@njit(cache=True)
def _follow(
    start: Array,
    other: Array,
    edge: Array,
    weight: Array,
    origin: int,
    number: Array,
    between: Array,
    stretch: float,
    label: Array,
    heap: Array,
    place: Array,
    found: Array,
    far: Array,
    tail: int,
) -> tuple[Array, Array, int]:
    """Follow ways from an end, up to `stretch` times the farthest other one; label is left as it was, all infinite.

    Appends to found and far, at tail, what is reached and its distance; fills in the distances between ends.
    """
    left, reach, first = len(between), np.inf, tail
    label[origin], heap[0], place[origin], size = 0.0, origin, 0, 1
    while size > 0:
        node = pop(heap, place, label, size)
        size -= 1
        if tail == len(found):
            found, far = _doubled(found), _doubled(far)
        found[tail], far[tail] = node, label[node] if label[node] <= reach else np.inf
        tail += 1
        if label[node] > reach:
            continue
        if number[node] >= 0:
            between[number[node]] = label[node]
            left -= 1
            if left == 0:
                reach = stretch * label[node]
        for arc in range(start[node], start[node + 1]):
            near, there = other[arc], label[node] + weight[edge[arc]]
            if there < label[near] and there <= reach:
                label[near] = there
                size = put(heap, place, label, size, near)
    for spot in range(first, tail):
        label[found[spot]] = np.inf
    return found, far, tail


@njit(cache=True)
def out_of_the_way(
    start: Array, other: Array, edge: Array, weight: Array, ends: Array, stretch: float
) -> tuple[Array, Array]:
    """Nodes near some ends, and how far out of the way each is: the way over it by the way between two of the ends.

    Ways are those between neighbours in the spanning tree of the ends, and are followed up to `stretch` times the
    farthest end. An end is no way out. The work grows with the nodes near the ends, not with the graph.
    """
    nodes, count = len(start) - 1, len(ends)
    label, ratio, number = np.full(nodes, np.inf), np.full(nodes, np.inf), np.full(nodes, -1, np.int64)
    heap, place = np.empty(nodes, np.int64), np.full(nodes, -1, np.int64)
    between, first = np.full((count, count), np.inf), np.zeros(count + 1, np.int64)
    found, far = np.empty(1024, np.int64), np.empty(1024)
    for k in range(count):
        number[ends[k]] = k
    for k in range(count):
        found, far, first[k + 1] = _follow(
            start, other, edge, weight, ends[k], number, between[k], stretch, label, heap, place, found, far, first[k]
        )
    above = _least_links(between)
    for one in range(1, count):
        two = above[one]
        way = min(between[one, two], between[two, one])
        for spot in range(first[one], first[one + 1]):
            label[found[spot]] = far[spot]
        for spot in range(first[two], first[two + 1]):
            ratio[found[spot]] = min(ratio[found[spot]], (label[found[spot]] + far[spot]) / way)
        for spot in range(first[one], first[one + 1]):
            label[found[spot]] = np.inf
    for end in ends:
        ratio[end] = 1.0
    kept = 0
    for spot in range(first[count]):
        node = found[spot]
        if ratio[node] < np.inf:
            found[kept], far[kept], ratio[node] = node, ratio[node], np.inf
            kept += 1
    return found[:kept], far[:kept]


@njit(cache=True)
def _least_links(between: Array) -> Array:
    """For each point but the first the point that it hangs from in the least spanning tree, by Prim's method."""
    count = len(between)
    above, nearest, outside = np.zeros(count, np.int64), np.full(count, np.inf), np.ones(count, np.bool_)
    here = 0
    for _ in range(count - 1):
        outside[here] = False
        pick = -1
        for k in range(count):
            if outside[k]:
                way = min(between[here, k], between[k, here])
                if way < nearest[k]:
                    nearest[k], above[k] = way, here
                if pick < 0 or nearest[k] < nearest[pick]:
                    pick = k
        here = pick
    return above


@njit(cache=True)
def cut_out(start: Array, other: Array, edge: Array, inside: Array) -> tuple[Array, Array, Array, Array, Array, Array]:
    """Some nodes, in order, and all edges between them, numbered anew.

    Returns: the edges' old numbers, their two nodes, and the arcs: where those of each node start, the node each leads
    to and its edge.
    """
    place = np.full(len(start) - 1, -1, np.int64)
    for k in range(len(inside)):
        place[inside[k]] = k
    most = 0
    for node in inside:
        most += start[node + 1] - start[node]
    edges, first, second = np.empty(most, np.int64), np.empty(most, np.int64), np.empty(most, np.int64)
    degree, count = np.zeros(len(inside) + 1, np.int64), 0
    for k in range(len(inside)):
        for arc in range(start[inside[k]], start[inside[k] + 1]):
            there = place[other[arc]]
            if there > k:
                edges[count], first[count], second[count] = edge[arc], k, there
                degree[k + 1] += 1
                degree[there + 1] += 1
                count += 1
    begin, spot = degree, np.empty(len(inside), np.int64)
    for k in range(len(inside)):
        spot[k] = begin[k]
        begin[k + 1] += begin[k]
    to, by = np.empty(2 * count, np.int64), np.empty(2 * count, np.int64)
    for number in range(count):
        k = first[number]
        to[spot[k]], by[spot[k]] = second[number], number
        spot[k] += 1
    for number in range(count):
        k = second[number]
        to[spot[k]], by[spot[k]] = first[number], number
        spot[k] += 1
    return edges[:count], first[:count], second[:count], begin, to, by


@njit(cache=True)
def _spanning(distance: Array, ends: Array) -> float:
    """Weight of the least spanning tree of the ends; distance (ends, nodes)."""
    count, total = len(ends), 0.0
    nearest, outside = np.empty(count), np.ones(count, np.bool_)
    for k in range(count):
        nearest[k] = distance[0, ends[k]]
    outside[0] = False
    for _ in range(count - 1):
        pick = -1
        for k in range(count):
            if outside[k] and (pick < 0 or nearest[k] < nearest[pick]):
                pick = k
        total += nearest[pick]
        outside[pick] = False
        for k in range(count):
            nearest[k] = min(nearest[k], distance[pick, ends[k]])
    return total


@njit(cache=True)
def lightest_tree(start: Array, other: Array, edge: Array, weight: Array, ends: Array, most: float) -> Array:
    """Say for each edge whether it is in the lightest tree that joins the ends; for none when that weighs over `most`.

    Dynamic programming over sets of ends. A set at a node is left aside when its tree and the way from there to the
    farthest end that is still missing weigh more than the spanning tree of the ends, or than `most`.
    """
    nodes, count = len(start) - 1, len(ends) - 1
    full = (1 << count) - 1
    distance, back = np.full((count + 1, nodes), np.inf), np.zeros((full + 1, nodes), np.int64)
    nothing, unused = np.zeros(nodes), np.zeros(nodes, np.int64)
    for k in range(count + 1):
        distance[k, ends[k]] = 0.0
        _spread(start, other, edge, weight, distance[k], back[1 << k] if k < count else unused, nothing, np.inf)
    limit = min(_spanning(distance, ends) * (1 + 1e-9) + 1e-9, most)
    best, rest = np.full((full + 1, nodes), np.inf), np.empty(nodes)
    for mask in range(1, full + 1):
        if mask & (mask - 1) == 0:
            for k in range(count):
                if mask == 1 << k:
                    for node in range(nodes):
                        best[mask, node] = distance[k, node]
            continue
        for node in range(nodes):
            rest[node] = distance[count, node]
        for k in range(count):
            if not mask >> k & 1:
                for node in range(nodes):
                    rest[node] = max(rest[node], distance[k, node])
        low = mask & -mask
        part = (mask - 1) & mask
        while part:
            if part & low:
                for node in range(nodes):
                    together = best[part, node] + best[mask ^ part, node]
                    if together < best[mask, node] and together + rest[node] <= limit:
                        best[mask, node], back[mask, node] = together, part
            part = (part - 1) & mask
        _spread(start, other, edge, weight, best[mask], back[mask], rest, limit)
    if not best[full, ends[count]] <= limit:
        return np.zeros(len(weight), np.bool_)
    return _unfold(start, edge, len(weight), back, full, ends[count])


@njit(cache=True)
def _tail(start: Array, arc: int) -> int:
    """Node that an arc leaves."""
    low, high = 0, len(start) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if start[middle] <= arc:
            low = middle
        else:
            high = middle
    return low


@njit(cache=True)
def _unfold(start: Array, edge: Array, edges: int, back: Array, full: int, root: int) -> Array:
    """Walk the choices back from the whole set at the root."""
    chosen = np.zeros(edges, np.bool_)
    masks, spots, size = np.empty(64, np.int64), np.empty(64, np.int64), 1
    masks[0], spots[0] = full, root
    while size > 0:
        size -= 1
        mask, node = masks[size], spots[size]
        while back[mask, node] < 0:
            arc = -1 - back[mask, node]
            chosen[edge[arc]] = True
            node = _tail(start, arc)
        part = back[mask, node]
        if part > 0:
            masks[size], spots[size] = part, node
            masks[size + 1], spots[size + 1] = mask ^ part, node
            size += 2
    return chosen
