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
def _room(heads, number, capacity):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """What a zone may carry [ticks]."""
    room = capacity[heads[0]]
    for k in range(1, number):
        room = min(room, capacity[heads[k]])
    return room


@njit(cache=True)
def _drawn(a, b, h, k, number, members, draw):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Draw what moves with head h from a to b, or h again for no other; and two heads of b in return, -1 for none."""
    other = members[a, int(draw[4] * number[a])] if draw[2] >= 0.5 else h
    takes, drawn = int(draw[3] * 3), members[b, int(draw[5] * number[b])]
    if takes == 0:
        return other, -1, -1
    return other, drawn if takes == 1 else k, drawn


@njit(cache=True)
def _change(zone, number, one, two, new, other, changed):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Write a zone to another list, with two heads less and two more; returns how many it holds, 0 past its room."""
    m = 0
    for i in range(number):
        if zone[i] != one and zone[i] != two:
            changed[m] = zone[i]
            m += 1
    if m + 2 > len(changed):
        return 0
    if new >= 0:
        changed[m] = new
        m += 1
        if other != new:
            changed[m] = other
            m += 1
    return m


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
    yard, the trenches between heads [m], those from the open places [m], whether each place may serve each head, flows
    and capacities [ticks], the price of trench [currency/m] and of a zone's whole capacity too much; draws, for each
    move tried seven random numbers from 0 to 1.
    """
    members, number = _members(home)
    between, reach, legal, flow, capacity, metre, weight = yard
    cost, load, over = (
        np.zeros(len(number)),
        np.zeros(len(number), dtype=np.int64),
        np.zeros(len(number), dtype=np.int64),
    )
    for z in range(len(number)):
        load[z] = flow[members[z, : number[z]]].sum()
        room = _room(members[z], number[z], capacity)
        over[z] = max(0, load[z] - room)
        tree, link = spanning_length(members[z], number[z], between, np.inf), _link(members[z], number[z], reach, legal)
        cost[z] = weight * over[z] / room + metre * (tree + link)
    total, excess, roomy = cost.sum(), over.sum(), capacity.max()
    best, least = home.copy(), total if excess == 0 else np.inf
    first, second = np.zeros(members.shape[1], dtype=np.int64), np.zeros(members.shape[1], dtype=np.int64)
    for draw in draws:
        h = int(draw[0] * len(home))
        k = near[h, int(draw[1] * near.shape[1])]
        if k < 0 or home[k] == home[h]:
            continue
        a, b = home[h], home[k]
        other_h, k, other_k = _drawn(a, b, h, k, number, members, draw)
        most = cost[a] + cost[b] - temperature * math.log(max(draw[6], 1e-300))  # of what is accepted
        more = flow[h] + (flow[other_h] if other_h != h else 0)
        more -= (flow[k] if k >= 0 else 0) + (flow[other_k] if other_k != k else 0)
        if weight * (max(load[a] - more, load[b] + more) - roomy) / roomy > most:
            continue
        m = _change(members[a], number[a], h, other_h, k, other_k, first)
        n = _change(members[b], number[b], k, other_k, h, other_h, second)
        if m == 0 or n == 0:
            continue
        room_a, room_b = _room(first, m, capacity), _room(second, n, capacity)
        over_a, over_b = max(0, load[a] - more - room_a), max(0, load[b] + more - room_b)
        price_a, price_b = weight * over_a / room_a, weight * over_b / room_b
        if price_a + price_b > most:
            continue
        link_a, link_b = _link(first, m, reach, legal), _link(second, n, reach, legal)
        longest = (most - price_a - price_b) / metre - link_a - link_b  # trees of both, as far as that matters
        tree_a = spanning_length(first, m, between, longest)
        tree_b = spanning_length(second, n, between, longest - tree_a)
        cost_a, cost_b = price_a + metre * (tree_a + link_a), price_b + metre * (tree_b + link_b)
        if cost_a + cost_b == np.inf or cost_a + cost_b > most:
            continue
        for i in range(m):
            members[a, i] = first[i]
            home[first[i]] = a
        for i in range(n):
            members[b, i] = second[i]
            home[second[i]] = b
        excess += over_a + over_b - over[a] - over[b]
        number[a], number[b], load[a], load[b] = m, n, load[a] - more, load[b] + more
        total += cost_a + cost_b - cost[a] - cost[b]
        cost[a], cost[b], over[a], over[b] = cost_a, cost_b, over_a, over_b
        if excess == 0 and total < least - 1e-9:
            least = total
            for i in range(len(home)):
                best[i] = home[i]
    return best, least
