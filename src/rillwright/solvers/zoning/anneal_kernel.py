"""Compiled kernel of the search for compact zones: annealing by moving one head or swapping two between zones."""

import math

import numpy as np
from numba import njit

__all__ = ["anneal"]


@njit(cache=True)
def _zone_cost(heads, number, between, reach, legal, flow, capacity, trench_cost, weight):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Cost of tree and link, with overload priced at `weight` for the whole capacity; and the overload [ticks]."""
    load, room = flow[heads[0]], capacity[heads[0]]
    for k in range(1, number):
        load += flow[heads[k]]
        room = min(room, capacity[heads[k]])
    link = np.inf
    for p in range(reach.shape[0]):
        nearest = np.inf
        for k in range(number):
            if not legal[p, heads[k]]:
                nearest = np.inf
                break
            nearest = min(nearest, reach[p, heads[k]])
        link = min(link, nearest)
    left = heads[1:number].copy()
    gap = np.empty(number - 1)
    for k in range(number - 1):
        gap[k] = between[heads[0], left[k]]
    length = 0.0
    for rest in range(number - 1, 0, -1):
        nearest_k = 0
        for k in range(1, rest):
            if gap[k] < gap[nearest_k]:
                nearest_k = k
        length += gap[nearest_k]
        joined = left[nearest_k]
        gap[nearest_k], left[nearest_k] = gap[rest - 1], left[rest - 1]
        for k in range(rest - 1):
            gap[k] = min(gap[k], between[joined, left[k]])
    over = max(0, load - room)
    return trench_cost * (length + link) + weight * over / room, over


@njit(cache=True)
def anneal(  # type: ignore[no-untyped-def]  # noqa: ANN201
    home,  # noqa: ANN001
    near,  # noqa: ANN001
    between,  # noqa: ANN001
    reach,  # noqa: ANN001
    legal,  # noqa: ANN001
    flow,  # noqa: ANN001
    capacity,  # noqa: ANN001
    trench_cost,  # noqa: ANN001
    weight,  # noqa: ANN001
    temperature,  # noqa: ANN001
    moves,  # noqa: ANN001
    chance,  # noqa: ANN001
):
    """Move heads between zones at one temperature; returns the best lawful homes met and their cost.

    Parameters: home, zone of each head, changed in place; near, heads of the same group nearest to each, -1 for none;
    reach and legal, rows of the open places; weight [currency], price of a zone's whole capacity too much;
    chance, a random generator.
    """
    heads_in = len(home)
    zones = home.max() + 1
    number = np.zeros(zones, dtype=np.int64)
    for h in range(heads_in):
        number[home[h]] += 1
    members = np.zeros((zones, min(heads_in, 4 * number.max() + 20)), dtype=np.int64)
    number[:] = 0
    for h in range(heads_in):
        members[home[h], number[home[h]]] = h
        number[home[h]] += 1
    cost, over = np.zeros(zones), np.zeros(zones, dtype=np.int64)
    for z in range(zones):
        cost[z], over[z] = _zone_cost(members[z], number[z], between, reach, legal, flow, capacity, trench_cost, weight)
    total, excess = cost.sum(), over.sum()
    best, least = home.copy(), total if excess == 0 else np.inf
    first, second = np.zeros(members.shape[1], dtype=np.int64), np.zeros(members.shape[1], dtype=np.int64)
    for _ in range(moves):
        h = int(chance.random() * heads_in)
        k = near[h, int(chance.random() * near.shape[1])]
        if k < 0 or home[k] == home[h]:
            continue
        a, b = home[h], home[k]
        gives, takes = 1 + int(chance.random() * 2), int(chance.random() * 3)
        other_h = members[a, int(chance.random() * number[a])] if gives == 2 else h
        if takes == 1:
            k = members[b, int(chance.random() * number[b])]
        other_k = members[b, int(chance.random() * number[b])] if takes == 2 else k
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
            continue
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
        if m == 0:
            continue
        cost_a, over_a = _zone_cost(first, m, between, reach, legal, flow, capacity, trench_cost, weight)
        if cost_a == np.inf:
            continue
        cost_b, over_b = _zone_cost(second, n, between, reach, legal, flow, capacity, trench_cost, weight)
        rise = cost_a + cost_b - cost[a] - cost[b]
        if rise > 0 and (cost_b == np.inf or chance.random() >= math.exp(-rise / temperature)):
            continue
        home[h] = home[other_h] = b
        if takes > 0:
            home[k] = home[other_k] = a
        members[a, :m] = first[:m]
        members[b, :n] = second[:n]
        excess += over_a + over_b - over[a] - over[b]
        number[a], number[b] = m, n
        cost[a], cost[b], over[a], over[b] = cost_a, cost_b, over_a, over_b
        total += rise
        if excess == 0 and total < least - 1e-9:
            least = total
            best[:] = home
    return best, least
