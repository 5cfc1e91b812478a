"""What no system for the same heads can cost less than: a sum of bounds, each valid by itself.

Proofs are in docs/theory/joint.md.
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import floyd_warshall, minimum_spanning_tree
from shapely.geometry import LineString

from rillwright.jobs.case import Case
from rillwright.jobs.zoned import ZoneRoom
from rillwright.model.plan import Head, LeastCost, Point
from rillwright.solvers.takeoff import WASTE, WIRE_LOOP, find_reuse

__all__ = ["least_costs"]

STEINER = 0.8241  # least length of a Steiner tree in the plane over that of the spanning tree: Chung and Graham, 1985
ANY_METRIC = 0.5  # the same in any metric: twice round a tree passes every end

Floats = NDArray[np.float64]


def least_costs(rooms: Sequence[ZoneRoom], case: Case) -> tuple[LeastCost, ...]:
    """Parts of a bound under the whole cost of any system for the rooms' heads, whatever zones, places, routes, sizes.

    Parameters: rooms, one for each backflow kind that may be used, all with the same heads.
    """
    heads = rooms[0].heads
    zones = min(_fewest_zones(room, case) for room in rooms)
    return tuple(
        part
        for part in (
            _heads(heads, case),
            min((_valves(room, case) for room in rooms), key=lambda part: part.amount),
            _wire(zones, case),
            *_ways(heads, case),
        )
        if part.amount > 0
    )


def _fewest_zones(room: ZoneRoom, case: Case) -> int:
    """Zones that the flow alone asks for, with nothing lost in pipes."""
    flows: dict[str, float] = {}
    most: dict[str, float] = {}
    for head in room.heads:
        group = f"{head.head_class}; {head.hydrozone}"
        able = case.limits.capacity(case.need(head, room.kind, pipes=0.0))[0]
        flows[group] = flows.get(group, 0.0) + head.flow
        most[group] = max(most.get(group, 0.0), able)
    return sum(max(1, math.ceil(flow / most[group] - 1e-9)) for group, flow in flows.items())


def _price(part: str, case: Case) -> float:
    price = case.catalogue.prices.get(part)
    return price.price if price else 0.0


def _heads(heads: Sequence[Head], case: Case) -> LeastCost:
    """Heads, nozzles and swing joints: the same in every system; those in the ground that are kept cost nothing."""
    total = 0.0
    for head in heads:
        nozzle = f"nozzle {head.nozzle}"
        own = nozzle if nozzle in case.catalogue.prices else f"nozzle {head.head_class}"
        total += _price(f"head {head.head_class}", case) + _price(own, case) + _price("swing joint", case)
    old = {head.id: head for head in case.yard.existing.heads}
    uses = [use for use in find_reuse(case.yard, heads=heads, places=(), pipes=()) if use.kind == "head"]
    by_id = {head.id: head for head in heads}
    for use in uses:
        total += use.moving_cost
        for name in use.kept_as:
            head = by_id[name]
            total -= _price(f"head {head.head_class}", case) + _price("swing joint", case)
            if old[use.id].nozzle == head.nozzle:
                nozzle = f"nozzle {head.nozzle}"
                total -= _price(nozzle if nozzle in case.catalogue.prices else f"nozzle {head.head_class}", case)
    formula = "heads, nozzles and swing joints as laid out, less those in the ground that are kept"
    return LeastCost(what="heads", amount=total, formula=formula)


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
    guard = 0.0 if yard.backflow.owned == room.kind else _price(room.kind, case)
    valve = cheapest["in-line valve"]
    if device.scope == "zone":
        if "valve with vacuum breaker" in yard.valves.allowed:
            valve = min(valve, cheapest["valve with vacuum breaker"])
        guard = 0.0
    bought = max(0, zones - yard.valves.owned)
    boxes = max(0, 1 - len(yard.existing.places))
    amount = bought * valve + guard + zones * 2 * _price("splice", case) + boxes * _price("valve box", case)
    amount += _price("blow-out fitting", case)
    formula = f"{zones} zones at least, by flow alone: valves, splices; one box, one blow-out fitting, one {room.kind}"
    return LeastCost(what="valves", amount=amount, formula=formula)


def _wire(zones: int, case: Case) -> LeastCost:
    """Strands from the controller to the entry, and their loops in one box."""
    controller, entry = case.yard.controller.at, case.yard.water_entry.at
    lead = math.dist(controller, entry) if controller is not None else 0.0
    length = (1 + WASTE) * (zones + 2) * (lead + WIRE_LOOP)
    formula = f"{zones} + 2 strands from the controller to the entry, looped in one box"
    return LeastCost(what="wire", amount=length * _price("wire", case), formula=formula)


def _ways(heads: Sequence[Head], case: Case) -> Iterator[LeastCost]:
    """Trench that joins all heads, pipe that joins them and the entry, and a tee for each head but one of a zone."""
    yard, catalogue = case.yard, case.catalogue
    spots = [head.at for head in heads]
    metre = min((c.per_metre for c in catalogue.trenches.values() if c.per_metre is not None), default=0.0)
    dug = _least_tree(spots, case)
    formula = "the least tree that joins all heads, in the ground that is cheapest to dig"
    yield LeastCost(what="trench", amount=metre * dug, formula=formula)
    kinds = [
        (p.material, p.trade_size) for p in catalogue.pipes if p.material in (*yard.pipes.main, *yard.pipes.laterals)
    ]
    pipe = min((_price(f"pipe {material} {size}", case) for material, size in kinds), default=0.0)
    laid = _least_tree([*spots, yard.water_entry.at], case)
    formula = "the least tree that joins the entry and all heads, of the cheapest pipe, with offcuts"
    yield LeastCost(what="pipe", amount=(1 + WASTE) * pipe * laid, formula=formula)
    laterals = [(p.material, p.trade_size) for p in catalogue.pipes if p.material in yard.pipes.laterals]
    tee = min((_price(f"tee {material} {size}", case) for material, size in laterals), default=0.0)
    count = max(0, len(heads) - yard.controller.stations)
    yield LeastCost(
        what="tees", amount=count * tee, formula="one for each head of a zone but one, at most a zone a station"
    )


def _least_tree(spots: Sequence[Point], case: Case) -> float:
    """Length [m] that no tree joining some points can have less than; what runs along a pipe in the ground is free."""
    points = np.array(spots, dtype=float)
    apart: Floats = np.linalg.norm(points[:, None] - points[None], axis=2)
    share = STEINER
    pipes = [LineString(pipe.path) for pipe in case.yard.existing.pipes]
    if pipes:
        shapes = [*shapely.points(points), *pipes]
        apart = floyd_warshall(np.array([[a.distance(b) for b in shapes] for a in shapes]))[: len(spots), : len(spots)]
        share = ANY_METRIC
    # points at one place are no edge to scipy; a length far below any trench keeps them joined
    return share * float(minimum_spanning_tree(np.maximum(apart, 1e-12)).sum())
