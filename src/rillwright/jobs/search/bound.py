"""What no system for the same heads can cost less than: a sum of bounds, each valid by itself.

Proofs are in docs/theory/joint.md.
"""

import math
from collections.abc import Iterator, Sequence
from typing import get_args

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import floyd_warshall, minimum_spanning_tree
from scipy.spatial import Delaunay
from shapely.geometry import LineString

from rillwright.jobs.case import Case
from rillwright.jobs.pipework import ENTRY
from rillwright.jobs.zoned import ZoneRoom
from rillwright.model.fittings import Fitting
from rillwright.model.parts import BackflowDevice
from rillwright.model.placed import BOX
from rillwright.model.plan import Head, LeastCost, Point
from rillwright.model.site import PipeMaterial
from rillwright.model.wire import Gauge
from rillwright.solvers.joining import FLEXIBLE
from rillwright.solvers.routing import Board
from rillwright.solvers.routing.bounds import NO_TRENCH, dual_ascent
from rillwright.solvers.takeoff import WASTE, WIRE_LOOP, find_reuse
from rillwright.solvers.takeoff.benches import STIFF
from rillwright.solvers.takeoff.counts import GRAVEL_UNDER_BOX
from rillwright.solvers.takeoff.network import swing_joint
from rillwright.solvers.wire import wire_part

__all__ = ["least_costs", "least_price", "net_length"]

STEINER = 0.8241  # least length of a Steiner tree in the plane over that of the spanning tree: Chung and Graham, 1985
MANY = 1_000  # points over which not every pair is looked at
ANY_METRIC = 0.5  # the same in any metric: twice round a tree passes every end

Floats = NDArray[np.float64]


def least_costs(rooms: Sequence[ZoneRoom], case: Case, board: Board | None) -> tuple[LeastCost, ...]:
    """Parts of a bound under the whole cost of any system for the rooms' heads, whatever zones, places, routes, sizes.

    Parameters: rooms, one for each backflow kind that may be used, all with the same heads; board, the graph whose
    stretches trenches may follow, None where pipe is in the ground.
    """
    heads = rooms[0].heads
    zones = min(_fewest_zones(room, case) for room in rooms)
    return tuple(
        part
        for part in (
            _heads(heads, case),
            min((_valves(room, case) for room in rooms), key=lambda part: part.amount),
            min((_risers(room, case) for room in rooms), key=lambda part: part.amount),
            _wire(zones, case),
            *(_straight_ways(heads, case) if board is None else (_ways(heads, case, board),)),
            *_fittings(rooms, zones, case),
        )
        if part.amount > 0
    )


def _fewest_zones(room: ZoneRoom, case: Case) -> int:
    """Zones that the flow alone asks for, with nothing lost in pipes.

    No zone draws more than the least capacity of its heads, so the shares of capacity that its heads take sum to one
    at most.
    """
    shares: dict[str, float] = {}
    groups = {load.id: load.group for load in room.problem.loads}
    for head in room.heads:
        group = groups[head.id]
        able = case.limits.capacity(case.need(head, room.kind, pipes=0.0))[0]
        shares[group] = shares.get(group, 0.0) + head.flow / able
    return sum(max(1, math.ceil(share - 1e-9)) for share in shares.values())


def _price(part: str, case: Case) -> float:
    price = case.catalogue.prices.get(part)
    return price.price if price else 0.0


def _heads(heads: Sequence[Head], case: Case) -> LeastCost:
    """Heads, nozzles and swing joints: the same in every system; those in the ground that are kept cost nothing."""
    total = 0.0
    for head in heads:
        nozzle = f"nozzle {head.nozzle}"
        own = nozzle if nozzle in case.catalogue.prices else f"nozzle {head.head_class}"
        total += _price(f"head {head.head_class}", case) + _price(own, case) + _swing(head, case)
    old = {head.id: head for head in case.yard.existing.heads}
    uses = [use for use in find_reuse(case.yard, heads=heads, places=(), pipes=()) if use.kind == "head"]
    by_id = {head.id: head for head in heads}
    for use in uses:
        total += use.moving_cost
        for name in use.kept_as:
            head = by_id[name]
            total -= _price(f"head {head.head_class}", case) + _swing(head, case)
            if old[use.id].nozzle == head.nozzle:
                nozzle = f"nozzle {head.nozzle}"
                total -= _price(nozzle if nozzle in case.catalogue.prices else f"nozzle {head.head_class}", case)
    formula = "heads, nozzles and swing joints as laid out, less those in the ground that are kept"
    return LeastCost(what="heads", amount=total, formula=formula)


def _swing(head: Head, case: Case) -> float:
    return _price(f"swing joint {swing_joint(head.head_class)}", case)


def _valves(room: ZoneRoom, case: Case) -> LeastCost:
    """Valves for the fewest zones, one backflow device or one for each zone, one box, splices, one blow-out fitting."""
    yard, device = case.yard, case.catalogue.backflow[room.kind]
    zones = _fewest_zones(room, case)
    cheapest = {
        kind: min(
            (_price(f"{v.kind} {v.trade_size}", case) for v in case.catalogue.valves if v.kind == kind), default=0.0
        )
        for kind in ("in-line valve", "valve with vacuum breaker")
    }
    guard = 0.0 if yard.backflow.owned == room.kind else _least_device(device, case)
    valve = cheapest["in-line valve"]
    if device.scope == "zone":
        if "valve with vacuum breaker" in yard.valves.allowed:
            valve = min(valve, cheapest["valve with vacuum breaker"])
        guard = 0.0
    bought = max(0, zones - yard.valves.owned)
    boxes = max(0, 1 - len(yard.existing.places))
    amount = bought * valve + guard + zones * 2 * _price("splice", case) + boxes * least_price(BOX, case)
    amount += _price("blow-out fitting", case) + GRAVEL_UNDER_BOX * _price("bag of gravel", case)
    formula = f"{zones} zones at least, by flow alone: valves, splices; one box, one blow-out fitting, one {room.kind}"
    return LeastCost(what="valves", amount=amount, formula=formula)


def _least_device(device: BackflowDevice, case: Case) -> float:
    """Least price of a backflow device before all valves: of the size that the user names, else of any for the line."""
    line = case.yard.backflow_line
    sizes = device.up_to(line) if case.yard.backflow.size is None else (device.for_line(line),)
    return min(_price(size.part, case) for size in sizes)


def _wire(zones: int, case: Case) -> LeastCost:
    """Strands from the controller to the entry, and their loops in one box."""
    controller, entry = case.yard.controller.at, case.yard.water_entry.at
    lead = math.dist(controller, entry) if controller is not None else 0.0
    length = (1 + WASTE) * (zones + 2) * (lead + WIRE_LOOP)
    formula = f"{zones} + 2 strands from the controller to the entry, looped in one box"
    return LeastCost(
        what="wire", amount=length * min(_price(wire_part(gauge), case) for gauge in get_args(Gauge)), formula=formula
    )


def _risers(room: ZoneRoom, case: Case) -> LeastCost:
    """What leads up to each device that stands over the ground, and down again.

    A device at the entry has four elbows, two unions and all its pipe; vacuum breakers are entered from below and left
    at the side, or in one piece with their valve also left from below.
    """
    device, yard = case.catalogue.backflow[room.kind], case.yard
    elbow, number = _least_of("elbow", case), 1
    if device.above_outlets is None and device.above_ground > 0:
        length = 2 * (device.above_ground + yard.rules.trench_depth)
        amount = length * _least_pipe([STIFF], case) + 4 * elbow + 2 * _least_of("union", case)
    elif device.above_outlets is None:
        number, amount = 0, 0.0
    elif device.scope == "system":
        amount = 3 * elbow
    else:
        number = _fewest_zones(room, case)
        amount = number * (1 if "valve with vacuum breaker" in yard.valves.allowed else 3) * elbow
    return LeastCost(what="risers", amount=amount, formula=f"elbows up to {number} at least and down again")


def _ways(heads: Sequence[Head], case: Case, board: Board) -> LeastCost:
    """Trench and pipe that join the entry and all heads over the stretches of the board, by dual ascent."""
    yard, graph = case.yard, board.graph
    pipe = _least_pipe((*yard.pipes.main, *yard.pipes.laterals), case)
    ends = dict.fromkeys(board.number[name] for name in (ENTRY, *(head.id for head in heads)))
    low, _ = dual_ascent(graph.patch(), list(ends), np.minimum(graph.trench, NO_TRENCH) + pipe * graph.length)
    straight = sum(part.amount for part in _straight_ways(heads, case))
    formula = "the least tree on the routing graph that joins the entry and all heads, dug once, of the cheapest pipe"
    return LeastCost(what="trench and pipe", amount=max(low, straight), formula=formula)


def _straight_ways(heads: Sequence[Head], case: Case) -> Iterator[LeastCost]:
    """Trench that joins all heads and pipe that joins them and the entry, over any ground."""
    yard, catalogue = case.yard, case.catalogue
    spots = [head.at for head in heads]
    metre = min((c.per_metre for c in catalogue.trenches.values() if c.per_metre is not None), default=0.0)
    formula = "the least tree that joins all heads, in the ground that is cheapest to dig"
    yield LeastCost(what="trench", amount=metre * _least_tree(spots, case), formula=formula)
    pipe = _least_pipe((*yard.pipes.main, *yard.pipes.laterals), case)
    laid = _least_tree([*spots, yard.water_entry.at], case)
    formula = "the least tree that joins the entry and all heads, of the cheapest pipe"
    yield LeastCost(what="pipe", amount=pipe * laid, formula=formula)


def _fittings(rooms: Sequence[ZoneRoom], zones: int, case: Case) -> Iterator[LeastCost]:
    """Branches of laterals with their joints, and what each zone and the main take at their ends."""
    yard, heads = case.yard, rooms[0].heads
    materials = yard.pipes.laterals
    tee, saddle = _least_of("tee", case), _least_of("saddle", case)
    joint = min(
        least_price(f"{'clamp' if m == 'PE' else 'crimp ring'} ", case) if m in FLEXIBLE else 0.0 for m in materials
    )
    alone = min(len(heads), yard.controller.stations)
    amount = (len(heads) - alone) * min(saddle, tee + 2 * joint) + alone * min(saddle, tee)
    formula = "a tee or saddle for each head; two joints at each tee but one of a zone, at most a zone a station"
    yield LeastCost(what="branches", amount=amount, formula=formula)
    thread = min((f.price or 0.0 for f in case.catalogue.fittings.fittings if _leads_from_thread(f)), default=0.0)
    drain = _price("drain valve", case) + _price("round box", case) + _price("bag of gravel", case)
    unions = {"both sides": 2, "outlet": 1, "none": 0}[yard.valves.unions]
    formula = f"{zones} zones: a drain in its box on gravel, fittings at both threads of its valve, {unions} unions"
    ends = drain + 2 * thread + unions * _least_of("union", case)
    yield LeastCost(what="zone ends", amount=zones * ends, formula=formula)
    number, shut = 1 + yard.valves.isolating, least_price("isolating valve ", case) + 2 * thread
    formula = f"{number} shut-off with a fitting at both threads, a drain in its box on gravel"
    yield LeastCost(what="main ends", amount=number * shut + drain, formula=formula)


def _leads_from_thread(fitting: Fitting) -> bool:
    """Whether a fitting goes into the thread of a valve and leads on."""
    return len(fitting.mouths) > 1 and any(m.join == "thread" and m.gender == "male" for m in fitting.mouths)


def _least_of(body: str, case: Case) -> float:
    """Least price of all fittings of a body."""
    return min((f.price or 0.0 for f in case.catalogue.fittings.fittings if f.body == body), default=0.0)


def _least_pipe(materials: Sequence[PipeMaterial], case: Case) -> float:
    """Least price of a metre of pipe over all sizes of some materials."""
    sizes = [(p.material, p.trade_size) for p in case.catalogue.pipes if p.material in materials]
    return min((_price(f"pipe {material} {size}", case) for material, size in sizes), default=0.0)


def least_price(beginning: str, case: Case) -> float:
    """Least price [currency] of the parts whose names begin so; 0 where there is none."""
    return min((p.price for name, p in case.catalogue.prices.items() if name.startswith(beginning)), default=0.0)


def net_length(points: Floats) -> float:
    """Length [m] of the least tree of straight lines that joins many points (n, 2) in the plane, not all in one line.

    Its lines are among those of the Delaunay net: Shamos and Hoey, "Closest-point problems", FOCS 1975, from memory.
    """
    points = np.unique(points, axis=0)
    corners = Delaunay(points).simplices
    pairs = np.unique(np.sort(np.vstack([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [0, 2]]]), axis=1), axis=0)
    length = np.linalg.norm(points[pairs[:, 0]] - points[pairs[:, 1]], axis=1)
    net = coo_array((length, (pairs[:, 0], pairs[:, 1])), shape=(len(points), len(points)))
    return float(minimum_spanning_tree(net.tocsr()).sum())


def _least_tree(spots: Sequence[Point], case: Case) -> float:
    """Length [m] that no tree joining some points can have less than; what runs along a pipe in the ground is free."""
    points = np.array(spots, dtype=float)
    if len(points) > MANY and not case.yard.existing.pipes:
        return STEINER * net_length(points)
    apart: Floats = np.linalg.norm(points[:, None] - points[None], axis=2)
    share = STEINER
    pipes = [LineString(pipe.path) for pipe in case.yard.existing.pipes]
    if pipes:
        shapes = [*shapely.points(points), *pipes]
        apart = floyd_warshall(np.array([[a.distance(b) for b in shapes] for a in shapes]))[: len(spots), : len(spots)]
        share = ANY_METRIC
    # to scipy a length under 1e-8 is no edge; one far below any trench keeps points at one place joined
    return share * float(minimum_spanning_tree(np.maximum(apart, 1e-6)).sum())
