"""Dual ascent over the arcs of a graph, compiled. Arcs are numbered as in `kernels`."""

from typing import Any

import numpy as np
from numba import njit

from rillwright.solvers.routing.kernels import pop, put

__all__ = ["raise_and_restore", "raise_duals", "room_for", "twins"]

Array = Any

_ROUNDING = 1e-9  # of what a tree may weigh: sums of prices in another order


@njit(cache=True)
def raise_duals(start: Array, other: Array, left: Array, root: int, ends: Array) -> float:
    """Raise dual variables of cuts round ends until each end can be reached from the root over used-up arcs.

    left, by arc, is what remains of the price of going that arc backwards, from `other` to the arc's own node; it is
    lowered in place. The end that was last known nearest to the root or to another end that waits goes first: all cuts
    round it up to that distance are raised at once, so that each arc is used up by the difference of its labels.
    Returns the sum of the rises, or -1 - e when end e cannot be reached.
    """
    waits, label, met, heap, place = room_for(len(start) - 1)
    return _raise(start, other, left, root, ends, waits, label, met, heap, place, np.empty(0, np.int64))[0]


@njit(cache=True)
def raise_and_restore(
    start: Array,
    other: Array,
    twin: Array,
    price: Array,
    left: Array,
    root: int,
    ends: Array,
    most: float,
    waits: Array,
    label: Array,
    met: Array,
    heap: Array,
    place: Array,
    touched: Array,
) -> tuple[float, Array]:
    """The same, with the price of each arc in `left` before and after, so that the work grows with what is near.

    Parameters: twin, of each arc the one that goes back; waits to place, from `room_for`, left as they were; touched
    (arcs,), room for a list.
    Returns also the nodes that trees of the ends may have which weigh at most `most`: those where what is left of the
    price of the way from the root over the node to an end is no more than the bound falls short of that.
    """
    total, count = _raise(start, other, left, root, ends, waits, label, met, heap, place, touched)
    near = met[:0]
    if 0 <= total <= most:
        gap = most - total + _ROUNDING * (1 + most)
        back = _ways_within(start, other, left, ends, gap)
        near = np.flatnonzero(back + _ways_within(start, other, left[twin], np.array([root]), gap) <= gap)
    if count == len(touched):
        left[:] = price
    for arc in touched[:count]:
        left[arc] = price[arc]
    for end in ends:
        waits[end] = False
    return total, near


@njit(cache=True)
def _ways_within(start: Array, other: Array, price: Array, sources: Array, most: float) -> Array:
    """Least price of a way from a source to each node, by the arcs that leave what was reached; none over `most`."""
    nodes, size = len(start) - 1, len(sources)
    label, heap, place = np.full(nodes, np.inf), np.empty(nodes, np.int64), np.full(nodes, -1, np.int64)
    for spot in range(size):
        label[sources[spot]], heap[spot], place[sources[spot]] = 0.0, sources[spot], spot
    while size > 0:
        node = pop(heap, place, label, size)
        size -= 1
        for arc in range(start[node], start[node + 1]):
            near, there = other[arc], label[node] + price[arc]
            if there < label[near] and there <= most:
                label[near] = there
                size = put(heap, place, label, size, near)
    return label


@njit(cache=True)
def twins(edge: Array, edges: int) -> Array:
    """Of each arc the one that goes the same edge back; edge, of each arc; edges, how many there are."""
    twin, first = np.empty(len(edge), np.int64), np.full(edges, -1, np.int64)
    for arc in range(len(edge)):
        before = first[edge[arc]]
        if before < 0:
            first[edge[arc]] = arc
        else:
            twin[arc], twin[before] = before, arc
    return twin


@njit(cache=True)
def room_for(nodes: int) -> tuple[Array, Array, Array, Array, Array]:
    """Arrays to work with: who waits, labels, who is labelled, a heap and each node's spot in it."""
    label, met = np.full(nodes, np.inf), np.empty(nodes, np.int64)
    return np.zeros(nodes, np.bool_), label, met, np.empty(nodes, np.int64), np.full(nodes, -1, np.int64)


@njit(cache=True)
def _raise(
    start: Array,
    other: Array,
    left: Array,
    root: int,
    ends: Array,
    waits: Array,
    label: Array,
    met: Array,
    heap: Array,
    place: Array,
    touched: Array,
) -> tuple[float, int]:
    """As raise_duals; and how many arcs were lowered, listed in touched as far as there is room."""
    count, lowered = len(ends), 0
    key, queue, spot, waiting = np.zeros(count), np.empty(count, np.int64), np.full(count, -1, np.int64), 0
    for number in range(count):
        waits[ends[number]] = True
        queue[waiting], spot[number] = number, waiting
        waiting += 1
    total = 0.0
    while waiting > 0:
        number = pop(queue, spot, key, waiting)
        waiting -= 1
        far, seen = _to_next(start, other, left, root, ends[number], waits, label, met, heap, place)
        later = far < np.inf and far > key[number] and waiting > 0 and far > key[queue[0]]
        if later:
            key[number] = far
            waiting = put(queue, spot, key, waiting, number)
        else:
            total += far
            waits[ends[number]] = False
        for node in met[:seen]:
            if not later and far < np.inf and label[node] < far:
                for arc in range(start[node], start[node + 1]):
                    rise = min(label[other[arc]], far) - label[node]
                    if rise > 0:
                        if lowered < len(touched):
                            touched[lowered] = arc
                            lowered += 1
                        left[arc] = max(0.0, left[arc] - rise)
        for node in met[:seen]:
            label[node], place[node] = np.inf, -1
        if far == np.inf:
            return -1.0 - number, lowered
    return total, lowered


@njit(cache=True)
def _to_next(
    start: Array,
    other: Array,
    left: Array,
    root: int,
    end: int,
    waits: Array,
    label: Array,
    met: Array,
    heap: Array,
    place: Array,
) -> tuple[float, int]:
    """Distance from an end to the root or the nearest other end that waits, and how many nodes were labelled (met)."""
    if end == root:
        return 0.0, 0
    label[end], met[0], heap[0], place[end] = 0.0, end, end, 0
    seen, size = 1, 1
    while size > 0:
        node = pop(heap, place, label, size)
        size -= 1
        if node != end and (node == root or waits[node]):
            return label[node], seen
        for arc in range(start[node], start[node + 1]):
            near, there = other[arc], label[node] + left[arc]
            if there < label[near]:
                if label[near] == np.inf:
                    met[seen] = near
                    seen += 1
                label[near] = there
                size = put(heap, place, label, size, near)
    return np.inf, seen
