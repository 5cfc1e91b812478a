"""Trench and pipe routes for all nets of a yard."""

import random
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Literal

import numpy as np

from rillwright.errors import InputError
from rillwright.model.findings import Proof
from rillwright.model.ground import Ground
from rillwright.model.parts import TrenchCost
from rillwright.model.plan import Point, Trench
from rillwright.solvers.routing.assembly import Kind, RoutedEdge, lay_pipes, lay_trenches
from rillwright.solvers.routing.board import Board, Net
from rillwright.solvers.routing.bounds import dual_ascent, least_cost
from rillwright.solvers.routing.candidates import corners, crossings, keep, triangle_points
from rillwright.solvers.routing.graph import Ends, Graph, build_graph, place_ends
from rillwright.solvers.routing.reach import Unreachable, find_unreachable
from rillwright.solvers.routing.refine import better_points
from rillwright.solvers.routing.rings import close_ring
from rillwright.solvers.routing.sharing import NetEnds, Router, Tree, net_ends
from rillwright.solvers.routing.surfaces import DigGround, Floats, dig_ground
from rillwright.solvers.watch import nobody

__all__ = ["Net", "Routes", "route_nets", "trench_bound"]

REFINEMENTS = 2  # times that junction places are improved and the nets routed again
FIRST_ROUTINGS = 24  # nets routed first time over all orders; with more nets than this no second start is tried
SHUFFLES = 1  # random orders of the nets tried beside the given order and its reverse

METHOD = (
    "shared Steiner trees on a graph of straight stretches; nets routed in turn over open trenches, "
    "junction places refined; the bound holds for the stretches offered"
)


@dataclass(frozen=True, slots=True)
class Routes:
    """Routes of all nets, complete when made."""

    nodes: dict[str, Point]  # given points of the nets, and junctions J1, J2 and so on, each of one net [m]
    trees: dict[str, tuple[RoutedEdge, ...]]  # by net, directed away from its root; with loops where it is a ring
    trenches: tuple[Trench, ...]  # `pipes` holds the ids of the nets in the trench
    contents: dict[str, tuple[tuple[str, int], ...]]  # by trench: (net, place in its tree) of each edge that lies in it
    cost: float  # [currency] of trenches and pipes
    bound: float | None  # [currency] least that any routes over the last graph can cost
    status: Literal["feasible", "infeasible"]  # infeasible when something cannot be reached
    proof: Proof
    unreachable: tuple[Unreachable, ...]
    board: Board = field(compare=False)  # the last graph, on which other nets may be routed
    laid: dict[tuple[int, ...], Tree]  # trees by the ends of their nets on the board


@dataclass(frozen=True, slots=True)
class _Found:
    graph: Graph
    router: Router
    trees: list[Tree]
    cost: float


def route_nets(
    nets: Sequence[Net],
    *,
    points: Mapping[str, Point],
    ground: Ground,
    costs: Mapping[str, TrenchCost],
    also: Sequence[str] = (),
    ring: str | None = None,
    seed: int = 0,
    time_limit: float = 1800.0,
    tell: Callable[[float], None] = nobody,
) -> Routes:
    """Route pipes in shared trenches at little cost round obstacles and over paving.

    Parameters: nets, with unique ids; points [m] of every root and terminal; ground; costs of trench by surface
    ('lawn', 'bed', 'paving', 'roots', 'ground' for what is not drawn); ring, the net whose tree is then closed, so that
    each of its ends is fed from two sides where that can be; seed of the orders tried; time_limit [s]
    of processor time, a guard only: the work is bounded by counts, so the same input gives the same routes on any
    machine where the guard does not strike; also, points that no net needs yet and that the graph shall hold; tell,
    whom to tell what share of the work is done, 0 to 1.
    Pipe in the ground costs the net that may use it neither trench nor pipe. A line that a net must follow is in its
    tree, less what of it would lead to no end of the net.
    Returns: routes that leave out what cannot be reached, and name it. A point in a building gets out of it by
    the nearest point of the wall; the stretch indoors costs pipe but no trench.
    Errors: InputError for a point or surface cost that is missing, ids used twice, or a line to be followed where no
    trench may go.
    """
    _check(nets, points)
    names = list(dict.fromkeys([*(name for net in nets for name in (net.root, *net.terminals)), *also]))
    place = {name: number for number, name in enumerate(names)}
    groups = [[place[name] for name in (net.root, *net.terminals)] for net in nets]
    spots = np.array([points[name] for name in names], dtype=float).reshape(-1, 2)
    deadline = time.thread_time() + time_limit
    for whole_hull in (False, True):
        dig = dig_ground(ground, costs, points=[points[name] for name in names], whole_hull=whole_hull)
        ends = place_ends(dig, spots)
        offered = _first_candidates(dig, ends, groups)
        graph = build_graph(dig, ends, offered, groups=groups, lines=_lines(nets))
        lost = find_unreachable(nets, names, graph=graph, dig=dig, ground=ground)
        if not lost:
            break
    _check_held(graph, nets, names)
    missing = {(item.net, item.node) for item in lost}
    reached = [
        tuple(dict.fromkeys(k for k in group if (net.id, names[k]) not in missing))
        for net, group in zip(nets, groups, strict=True)
    ]
    found = _solve(dig, ends, graph, nets, reached, orders=_orders(len(nets), seed), deadline=deadline, tell=tell)
    if ring is not None:
        found = _closed(found, next(number for number, net in enumerate(nets) if net.id == ring))
    return _routes(dig, nets, names, found, lost)


def trench_bound(
    points: Sequence[Point], *, ground: Ground, costs: Mapping[str, TrenchCost], pipe_cost: float = 0.0
) -> float:
    """Least that trenches which join all of some points can cost [currency], whatever nets lie in them.

    Parameters: points [m], the water entry first, then every head and valve place that is certain; ground; costs of
    trench by surface; pipe_cost [currency/m] of the cheapest pipe, of which each trench holds one at least.
    Returns: the sum over the parts of the ground that trenches can join, by dual ascent as `route_nets` does; it holds
    for the stretches on offer, see docs/theory/routing.md.
    """
    spots = np.array(points, dtype=float).reshape(-1, 2)
    dig = dig_ground(ground, costs, points=points)
    ends = place_ends(dig, spots)
    everything = [list(range(len(points)))]
    graph = build_graph(dig, ends, _first_candidates(dig, ends, everything))
    parts = graph.parts[: len(points)]
    weight = graph.trench + pipe_cost * graph.length
    together = [np.flatnonzero(parts == part).tolist() for part in np.unique(parts)]
    return sum(dual_ascent(graph.patch(), group, weight)[0] for group in together)


def _lines(nets: Sequence[Net]) -> list[tuple[Point, ...]]:
    laid = [line for net in nets for line in net.laid]
    return laid + [line.path for net in nets for line in net.held]


def _laid(graph: Graph, nets: Sequence[Net]) -> dict[str, dict[int, int]]:
    """For each net the edges along its pipe in the ground, each with the place of its line in the net's `laid`."""
    lines = iter(graph.lines)
    return {net.id: {e: place for place in range(len(net.laid)) for e in next(lines)} for net in nets}


def _held(graph: Graph, nets: Sequence[Net]) -> dict[str, tuple[int, ...]]:
    """The edges along each line that some net must follow."""
    names = [line.id for net in nets for line in net.held]
    return dict(zip(names, graph.lines[len(graph.lines) - len(names) :], strict=True))


def _kinds(graph: Graph, nets: Sequence[Net]) -> dict[str, dict[int, Kind]]:
    laid, held = _laid(graph, nets), _held(graph, nets)
    by_net = {net.id: {e: line.id for line in net.held for e in held[line.id]} for net in nets}
    return {name: {e: (laid[name].get(e), own.get(e)) for e in laid[name] | own} for name, own in by_net.items()}


def _on_graph(graph: Graph, nets: Sequence[Net], reached: Sequence[tuple[int, ...]]) -> list[NetEnds]:
    """Give each net its ends, its pipe in the ground, and the lines that it must follow."""
    laid, held = _laid(graph, nets), _held(graph, nets)
    return [
        net_ends(graph, ends, net.pipe_cost, laid=frozenset(laid[net.id]), held=[held[line.id] for line in net.held])
        for net, ends in zip(nets, reached, strict=True)
    ]


def _check_held(graph: Graph, nets: Sequence[Net], names: Sequence[str]) -> None:
    """Every line that must be followed lies where a trench may, and can be reached from the root of its net."""
    held = _held(graph, nets)
    for net in nets:
        for line in net.held:
            edges = list(held[line.id])
            if not np.all(np.isfinite(graph.trench[edges])):
                raise InputError(
                    f"Pinned pipe '{line.id}' runs where no trench may be dug. Lead it round, or take the pin off."
                )
            root = names.index(net.root)
            if set(graph.parts[graph.first[edges]]) != {graph.parts[root]}:
                raise InputError(
                    f"Pinned pipe '{line.id}' cannot be joined to '{net.root}' by any trench. Open a way to it, or "
                    "take the pin off."
                )


def _check(nets: Sequence[Net], points: Mapping[str, Point]) -> None:
    """There are nets, each has its own id, and every node a place."""
    if not nets:
        raise InputError("There are no nets to route. Give the main at least.")
    known: set[str] = set()
    for net in nets:
        if net.id in known:
            raise InputError(f"Two nets are called '{net.id}'. Give each net its own id.")
        known.add(net.id)
        if net.pipe_cost < 0:
            raise InputError(f"Net '{net.id}' has a pipe cost of {net.pipe_cost:g}. It must be 0 or more.")
        for name in (net.root, *net.terminals):
            if name not in points:
                raise InputError(f"Net '{net.id}' names '{name}', which has no point. Add it to the points.")


def _first_candidates(dig: DigGround, ends: Ends, groups: Sequence[Sequence[int]]) -> list[Floats]:
    """Bends and crossings, then junctions, to offer before any route is known."""
    outdoors = [[k for k in group if ends.outdoors[k]] for group in groups]
    triangles = [triangle_points(ends.points[group]) for group in (np.flatnonzero(ends.outdoors).tolist(), *outdoors)]
    return _offered(dig, ends, _fixed_candidates(dig, ends), np.vstack(triangles))


def _fixed_candidates(dig: DigGround, ends: Ends) -> Floats:
    return np.vstack([corners(dig), crossings(dig, ends.points[ends.outdoors])])


def _offered(dig: DigGround, ends: Ends, far: Floats, near: Floats) -> list[Floats]:
    """Thin out candidates: those that long stretches may join, and then the others."""
    first = keep(dig, far, ends.points)
    return [first, keep(dig, near, np.vstack([ends.points, first]))]


def _orders(count: int, seed: int) -> list[list[int]]:
    """Orders in which the nets are routed: as given, the other way round, and shuffled; none for many nets."""
    given = list(range(count))
    orders = [given, given[::-1]]
    chance = random.Random(seed)
    for _ in range(SHUFFLES):
        orders.append(chance.sample(given, count))
    return [order for k, order in enumerate(orders) if order not in orders[:k]][: FIRST_ROUTINGS // count]


def _solve(
    dig: DigGround,
    ends: Ends,
    graph: Graph,
    nets: Sequence[Net],
    reached: Sequence[tuple[int, ...]],
    *,
    orders: list[list[int]],
    deadline: float,
    tell: Callable[[float], None],
) -> _Found:
    """Route on a first graph; then offer better junction places and route again, the last time by several orders.

    With many nets, for which there are no orders, one start and one refinement are enough: on lots of 600 to 1,500
    heads the others, in twice the time, led to the same routes.
    """
    turns = REFINEMENTS if orders else 1
    first = partial(_further, tell, 0, 1 + turns)
    router = Router(graph, _on_graph(graph, nets, reached), deadline=deadline, tell=first)
    trees = router.improve(router.together(1.0))
    fixed = _fixed_candidates(dig, ends)
    best = _Found(graph, router, trees, router.cost(trees))
    for turn in range(turns):
        if best.router.late:
            break
        used = {int(n) for e in frozenset().union(*best.trees) for n in (best.graph.first[e], best.graph.second[e])}
        kept = best.graph.points[sorted(n for n in used if n >= best.graph.given)]
        better = better_points(dig, best.graph, best.router.nets, best.trees)
        offered = _offered(dig, ends, np.vstack([kept, fixed]), better)
        graph = build_graph(dig, ends, offered, groups=reached, lines=_lines(nets))
        further = partial(_further, tell, 1 + turn, 1 + turns)
        router = Router(graph, _on_graph(graph, nets, reached), deadline=deadline, tell=further)
        last = turn == turns - 1
        trees = router.solve(orders) if orders and last else router.improve(router.together(1.0))
        if (cost := router.cost(trees)) < best.cost:
            best = _Found(graph, router, trees, cost)
    return best


def _further(tell: Callable[[float], None], done: int, of: int, share: float) -> None:
    """Tell what share of several equal pieces of work is done."""
    tell((done + share) / of)


def _closed(found: _Found, number: int) -> _Found:
    """Close the tree of one net, and lay the others again with its trenches open."""
    router, trees = found.router, list(found.trees)
    dug = np.zeros(len(found.graph.first), dtype=bool)
    for other, (net, tree) in enumerate(zip(router.nets, trees, strict=True)):
        dug[list(tree - net.laid)] |= other != number
    trees[number] = close_ring(found.graph, trees[number], router.nets[number], dug)
    trees = router.improve(trees, kept=frozenset((number,)))
    return _Found(found.graph, router, trees, router.cost(trees))


def _routes(
    dig: DigGround, nets: Sequence[Net], names: Sequence[str], found: _Found, lost: tuple[Unreachable, ...]
) -> Routes:
    """Write the trees as pipes and trenches."""
    by_id = {net.id: tree for net, tree in zip(nets, found.trees, strict=True)}
    place = {name: number for number, name in enumerate(names)}
    roots = {net.id: place[net.root] for net in nets}
    ends = {net.id: set(e.terminals) for net, e in zip(nets, found.router.nets, strict=True)}
    laid, kinds = _laid(found.graph, nets), _kinds(found.graph, nets)
    nodes, trees, lies_in = lay_pipes(found.graph, by_id, names, roots=roots, ends=ends, kinds=kinds)
    new = {net: tree - laid[net].keys() for net, tree in by_id.items()}
    trenches, contents = lay_trenches(dig, found.graph, new, lies_in)
    pipe_cost = {net.id: net.pipe_cost for net in nets}
    pipes = sum(pipe_cost[net] * edge.length for net, tree in trees.items() for edge in tree if edge.laid is None)
    cost = sum(trench.cost for trench in trenches) + pipes
    bound = min(least_cost(found.graph, found.router.nets), cost)
    proof = Proof(stage="routes", status="infeasible" if lost else "feasible", value=cost, bound=bound, method=METHOD)
    status: Literal["feasible", "infeasible"] = "infeasible" if lost else "feasible"
    board = Board(dig, found.graph, place, _held(found.graph, nets))
    on_board = {e.key: tree for e, tree in zip(found.router.nets, found.trees, strict=True)}
    return Routes(nodes, trees, trenches, contents, cost, bound, status, proof, lost, board, on_board)
