"""Better places for junctions and bends, taken from routes already found."""

from collections.abc import Sequence
from itertools import combinations

import numpy as np
import shapely

from rillwright.solvers.routing.candidates import balance
from rillwright.solvers.routing.graph import Graph
from rillwright.solvers.routing.sharing import NetEnds, Tree
from rillwright.solvers.routing.surfaces import DigGround, Floats

__all__ = ["better_points"]

FOOT_REACH = 8.0  # [m] from an end to a trench it might be joined to square
SWEEPS = 8
LEAST_RATE = 1e-6  # [currency/m] of pipe that is in the ground already
STRIDES = np.array([0.0, 0.3, 0.6, 1.0])  # shares of the way to the balance point that are tried


def better_points(dig: DigGround, graph: Graph, nets: Sequence[NetEnds], trees: Sequence[Tree]) -> Floats:
    """Points (k, 2) [m] that may shorten the routes: junctions moved to balance, new junctions, tees, crossings."""
    used = sorted(frozenset().union(*trees))
    rate = _rates(graph, nets, trees, used)
    around: dict[int, list[tuple[int, float]]] = {}
    for edge, cost in zip(used, rate, strict=True):
        one, two = int(graph.first[edge]), int(graph.second[edge])
        around.setdefault(one, []).append((two, float(cost)))
        around.setdefault(two, []).append((one, float(cost)))
    moved = _balanced(dig, graph, around)
    return np.vstack([moved, _splits(moved, around), _feet(graph, used), _meetings(graph, used)])


def _rates(graph: Graph, nets: Sequence[NetEnds], trees: Sequence[Tree], used: Sequence[int]) -> Floats:
    """Cost of each used edge by the metre, trench and all pipes in it [currency/m]."""
    pipes = np.zeros(len(graph.first))
    for net, tree in zip(nets, trees, strict=True):
        pipes[list(tree - net.laid)] += net.pipe_cost
    new = np.isin(used, list(frozenset().union(*(tree - net.laid for net, tree in zip(nets, trees, strict=True)))))
    trench = np.where(new, graph.trench[used], 0.0)
    return np.asarray(np.maximum(trench / np.maximum(graph.length[used], 1e-9) + pipes[used], LEAST_RATE))


def _balanced(dig: DigGround, graph: Graph, around: dict[int, list[tuple[int, float]]]) -> Floats:
    """All node places, with junctions and bends moved toward least cost while their edges stay clear."""
    place = graph.points.copy()
    movable = np.array(sorted(node for node in around if node >= graph.given), dtype=np.int64)
    if len(movable) == 0:
        return place
    widest = max(len(around[node]) for node in movable)
    others = np.zeros((len(movable), widest), dtype=np.int64)
    rates = np.zeros((len(movable), widest))
    for row, node in enumerate(movable):
        others[row, : len(around[node])] = [other for other, _ in around[node]]
        rates[row, : len(around[node])] = [rate for _, rate in around[node]]
    for _ in range(SWEEPS):
        target = balance(place[others], rates)
        target = np.where(np.isnan(target), place[movable], target)
        tries = place[movable][:, None] + STRIDES[None, :, None] * (target - place[movable])[:, None]
        costs = _star_costs(dig, tries, place[others], rates)
        place[movable] = tries[np.arange(len(movable)), np.argmin(costs, axis=1)]
    return place


def _star_costs(dig: DigGround, tries: Floats, ends: Floats, rates: Floats) -> Floats:
    """Cost (b, t) of joining each of t points to k ends; infinite where an edge is not clear.

    Parameters: tries (b, t, 2); ends (b, k, 2); rates (b, k) of the edges now [currency/m], 0 for no edge.
    """
    shape = (*tries.shape[:2], ends.shape[1])
    pairs = np.stack(
        [np.broadcast_to(tries[:, :, None], (*shape, 2)), np.broadcast_to(ends[:, None], (*shape, 2))], axis=3
    )
    there = np.broadcast_to(rates[:, None] > 0, shape)
    lines = shapely.linestrings(pairs[there])
    over_base = np.broadcast_to(rates[:, None], shape)[there] - dig.base.per_metre
    cost = np.zeros(shape)
    cost[there] = np.where(dig.clear(lines), dig.price(lines) + over_base * shapely.length(lines), np.inf)
    return np.asarray(cost.sum(axis=2))


def _splits(place: Floats, around: dict[int, list[tuple[int, float]]]) -> Floats:
    """New junctions where two trenches leave a node closer together than 120°."""
    triples, weights = [], []
    for node, edges in around.items():
        for (one, cost_one), (two, cost_two) in combinations(edges, 2):
            triples.append(place[[node, one, two]])
            weights.append((max(cost_one, cost_two), cost_one, cost_two))
    if not triples:
        return np.empty((0, 2))
    spots = balance(np.array(triples), np.array(weights))
    return spots[~np.isnan(spots[:, 0])]


def _feet(graph: Graph, used: Sequence[int]) -> Floats:
    """Points of used edges square across from a given point, the two nearest of each."""
    start, end = graph.points[graph.first[used]], graph.points[graph.second[used]]
    spots = graph.points[: graph.given]
    tree = shapely.STRtree(shapely.linestrings(np.stack([start, end], axis=1)))
    spot, edge = tree.query(shapely.points(spots), predicate="dwithin", distance=FOOT_REACH)
    along = (end - start)[edge]
    square = np.maximum(np.sum(along**2, axis=1), 1e-12)
    share = np.sum((spots[spot] - start[edge]) * along, axis=1) / square
    feet = start[edge] + share[:, None] * along
    gap = np.linalg.norm(feet - spots[spot], axis=1)
    order = np.lexsort((edge, gap, spot))
    order = order[(share[order] > 0.02) & (share[order] < 0.98) & (gap[order] < FOOT_REACH)]
    second = np.concatenate([[False, False], spot[order[2:]] == spot[order[:-2]]])[: len(order)]
    return np.asarray(feet[order[~second]])


def _meetings(graph: Graph, used: Sequence[int]) -> Floats:
    """Points where two used edges cross."""
    lines = shapely.linestrings(np.stack([graph.points[graph.first[used]], graph.points[graph.second[used]]], axis=1))
    tree = shapely.STRtree(lines)
    one, two = tree.query(lines, predicate="crosses")
    return np.asarray(shapely.get_coordinates(shapely.intersection(lines[one[one < two]], lines[two[one < two]])))
