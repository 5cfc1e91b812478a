"""Compiled kernel of the search for compact zones: annealing by moving one head or swapping two between zones."""

import math

import numpy as np
from numba import njit

from rillwright.solvers.spanning import spanning_length

__all__ = ["anneal"]


@njit(cache=True)
def _link(heads, number, reach, legal):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Trench from the nearest place that may serve all heads; infinite when none may."""
    link = np.inf
    for p in range(reach.shape[0]):
        nearest = np.inf
        for k in range(number):
            if not legal[p, heads[k]]:
                nearest = np.inf
                break
            nearest = min(nearest, reach[p, heads[k]])
        link = min(link, nearest)
    return link


@njit(cache=True)
def _overload(heads, number, yard):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Flow past what a zone may carry [ticks], and its price."""
    flow, capacity, weight = yard[3], yard[4], yard[6]
    load, room = flow[heads[0]], capacity[heads[0]]
    for k in range(1, number):
        load += flow[heads[k]]
        room = min(room, capacity[heads[k]])
    over = max(0, load - room)
    return over, weight * over / room


@njit(cache=True)
def _trench(heads, number, yard, most):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Cost of tree and link; infinite past the most that matters.

    Parameters: yard, the trenches between heads [m], those from the open places [m], whether each place may serve
    each head, flows and capacities [ticks], the price of trench [currency/m] and of a zone's whole capacity too much.
    """
    if most < 0:
        return np.inf
    between, reach, legal, price = yard[0], yard[1], yard[2], yard[5]
    length = spanning_length(heads, number, between)
    return price * (length + _link(heads, number, reach, legal)) if price * length <= most else np.inf


@njit(cache=True)
def _move(a, b, h, k, number, members, first, second, draw):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Draw a move of head h, and perhaps another, from zone a to b, for none, one or two heads of b.

    Writes the zones that would come of it to first and second and returns their numbers of heads; 0 for no move.
    """
    gives, takes = 1 + int(draw[2] * 2), int(draw[3] * 3)
    other_h = members[a, int(draw[4] * number[a])] if gives == 2 else h
    if takes == 1:
        k = members[b, int(draw[5] * number[b])]
    other_k = members[b, int(draw[5] * number[b])] if takes == 2 else k
    m, n = 0, 0
    for i in range(number[a]):
        if members[a, i] != h and members[a, i] != other_h:
            first[m] = members[a, i]
            m += 1
    for i in range(number[b]):
        if takes == 0 or (members[b, i] != k and members[b, i] != other_k):
            second[n] = members[b, i]
            n += 1
    if m + 2 > len(first) or n + 2 > len(second):
        return 0, 0
    second[n] = h
    n += 1
    if other_h != h:
        second[n] = other_h
        n += 1
    if takes > 0:
        first[m] = k
        m += 1
        if other_k != k:
            first[m] = other_k
            m += 1
    return m, n


@njit(cache=True)
def _members(home):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Heads of each zone, with room for more, and their number."""
    number = np.zeros(home.max() + 1, dtype=np.int64)
    for zone in home:
        number[zone] += 1
    members = np.zeros((len(number), min(len(home), 4 * number.max() + 20)), dtype=np.int64)
    number[:] = 0
    for h in range(len(home)):
        members[home[h], number[home[h]]] = h
        number[home[h]] += 1
    return members, number


@njit(cache=True)
def anneal(home, near, yard, temperature, draws):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Move heads between zones at one temperature; returns the best lawful homes met and their cost.

    Parameters: home, zone of each head, changed in place; near, heads of the same group nearest to each, -1 for none;
    yard, as for the cost of a zone; draws, for each move tried seven random numbers from 0 to 1.
    """
    members, number = _members(home)
    cost, over = np.zeros(len(number)), np.zeros(len(number), dtype=np.int64)
    for z in range(len(number)):
        over[z], price = _overload(members[z], number[z], yard)
        cost[z] = price + _trench(members[z], number[z], yard, np.inf)
    total, excess = cost.sum(), over.sum()
    best, least = home.copy(), total if excess == 0 else np.inf
    first, second = np.zeros(members.shape[1], dtype=np.int64), np.zeros(members.shape[1], dtype=np.int64)
    for draw in draws:
        h = int(draw[0] * len(home))
        k = near[h, int(draw[1] * near.shape[1])]
        if k < 0 or home[k] == home[h]:
            continue
        a, b = home[h], home[k]
        m, n = _move(a, b, h, k, number, members, first, second, draw)
        if m == 0:
            continue
        over_a, price_a = _overload(first, m, yard)
        over_b, price_b = _overload(second, n, yard)
        most = cost[a] + cost[b] - temperature * math.log(max(draw[6], 1e-300))  # of what is accepted
        cost_a = price_a + _trench(first, m, yard, most - price_a - price_b)
        cost_b = price_b + _trench(second, n, yard, most - price_b - cost_a)
        if cost_a + cost_b == np.inf or cost_a + cost_b > most:
            continue
        for i in range(m):
            members[a, i] = first[i]
            home[first[i]] = a
        for i in range(n):
            members[b, i] = second[i]
            home[second[i]] = b
        excess += over_a + over_b - over[a] - over[b]
        number[a], number[b] = m, n
        total += cost_a + cost_b - cost[a] - cost[b]
        cost[a], cost[b], over[a], over[b] = cost_a, cost_b, over_a, over_b
        if excess == 0 and total < least - 1e-9:
            least = total
            for i in range(len(home)):
                best[i] = home[i]
    return best, least
