"""The parts list, counted off the plan's geometry, and what the plan costs.

Each line says how its quantity came about. Prices are the catalogue's; a part without a price is kept at 0 and
marked, and `unpriced` finds it. What the yard's owner has bought already is listed and not charged.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rillwright.model.parts import BackflowDevice, Catalogue, Valve
from rillwright.model.plan import Cost, ExistingUse, Head, Node, PartLine, Pipe, Trench, ValvePlace
from rillwright.model.regulation import REGULATORS, Fitted
from rillwright.model.site import BackflowKind, PipeMaterial, Yard
from rillwright.solvers.devices import valve_for
from rillwright.solvers.mains import nearest_ways, ring_of, root_of
from rillwright.solvers.takeoff.pipes import FedZone, count_joints, count_pipes, nominal, size_at
from rillwright.solvers.takeoff.reuse import count_kept
from rillwright.solvers.takeoff.tally import NO_PRICE, Tally

__all__ = ["cost_of", "take_off", "unpriced"]

VALVES_IN_A_BOX = 3  # judgement, no source
SLEEVE_OVERHANG = 0.3  # [m] of a sleeve past each edge of the paving; common practice, no source
WIRE_LOOP = 1.0  # [m] of each strand left in a box for splicing; common practice, no source
RISER_MATERIAL: PipeMaterial = "PVC schedule 40"  # stiff enough to stand alone
RISER_ELBOWS = 3  # from the trench up, over and down again

Sockets = Counter[tuple[PipeMaterial, str]]  # pipe ends put into fittings, by material and size


@dataclass(frozen=True, slots=True)
class _Plan:
    """What the counting functions read."""

    yard: Yard
    zones: Sequence[FedZone]
    places: Sequence[ValvePlace]
    pipes: Sequence[Pipe]
    valves: Mapping[str, Valve]  # by zone
    device: BackflowDevice

    @property
    def mains(self) -> list[Pipe]:
        return [pipe for pipe in self.pipes if pipe.role == "main"]

    @property
    def first_main(self) -> Pipe | None:
        """The largest run of the main that begins at the water entry."""
        fed = {pipe.end for pipe in self.mains}
        return max((p for p in self.mains if p.start not in fed), key=lambda p: nominal(p.size), default=None)

    @property
    def guards(self) -> list[str]:
        """Where backflow devices of their own stand: one id each; none where every valve holds its own breaker."""
        if self.device.scope == "zone":
            return [zone for zone, valve in self.valves.items() if valve.kind == "in-line valve"]
        if self.device.above_outlets is None:
            return ["water entry"]
        return [place.id for place in self.places]


def take_off(
    *,
    yard: Yard,
    catalogue: Catalogue,
    heads: Sequence[Head],
    zones: Sequence[FedZone],
    places: Sequence[ValvePlace],
    pipes: Sequence[Pipe],
    trenches: Sequence[Trench],
    nodes: Sequence[Node],
    backflow: BackflowKind,
    existing: Sequence[ExistingUse] = (),
    regulators: Sequence[Fitted] = (),
    check_valves: Sequence[str] = (),
) -> Tally:
    """Count every part of a plan.

    Parameters: the parts of one plan, whose pipes run from `start` (nearer the entry) to `end` and whose nodes bear the
    ids of their heads and valve places; backflow, the kind the plan is made for; existing, what the plan keeps of
    what is in the ground, which is listed and not charged; regulators, to be fitted; check_valves, the heads
    that get one.
    Returns: the tally, whose lines are the parts list.
    """
    valves = {zone.id: valve_for(backflow, yard=yard, catalogue=catalogue, flow=zone.flow) for zone in zones}
    plan = _Plan(yard, zones, places, pipes, valves, catalogue.backflow[backflow])
    tally = Tally(yard.units)
    _count_heads(tally, heads)
    count_pipes(tally, pipes=pipes, zones=zones, places=places)
    _count_valves(tally, plan)
    for one in regulators:
        tally.pieces(REGULATORS[one.at], "where the pressure would be too high", one.where)
    tally.pieces("check valve in a head", "in heads that would empty the pipes over them", check_valves)
    sockets = _count_risers(tally, plan)
    _count_winter(tally, plan, nodes)
    adapters = _count_adapters(tally, plan)
    count_joints(tally, pipes=pipes, sockets=sockets + adapters, threads=adapters.total())
    _count_wire(tally, plan)
    _count_sleeves(tally, trenches, {pipe.id for pipe in plan.mains})
    tally.own(
        [f"{v.kind} {v.trade_size}" for v in valves.values() if v.kind == yard.valves.allowed[0]], yard.valves.owned
    )
    tally.own([backflow], int(yard.backflow.owned == backflow))
    count_kept(tally, yard, existing, heads)
    return tally


def unpriced(parts: Sequence[PartLine]) -> tuple[PartLine, ...]:
    """Find the lines that have no price."""
    return tuple(line for line in parts if line.price_source == NO_PRICE)


def cost_of(
    parts: Sequence[PartLine], trenches: Sequence[Trench], yard: Yard, existing: Sequence[ExistingUse] = ()
) -> Cost:
    """Add up the parts still to be bought, the trenches, and the moving of what is not kept [currency]."""
    bought = sum((line.quantity - line.owned) * line.price for line in parts)
    dug = sum(trench.cost for trench in trenches)
    moved = sum(use.moving_cost for use in existing)
    return Cost(parts=bought, trenches=dug, moving=moved, total=bought + dug + moved, budget=yard.budget)


def _count_heads(tally: Tally, heads: Sequence[Head]) -> None:
    for head in heads:
        tally.pieces(f"head {head.head_class}", "placed", [head.id])
    for head in heads:
        tally.pieces(f"nozzle {head.nozzle}", "in heads", [head.id], priced_as=f"nozzle {head.head_class}")
    tally.pieces("swing joint", "under heads", [head.id for head in heads])


def _count_valves(tally: Tally, plan: _Plan) -> None:
    for zone, valve in plan.valves.items():
        tally.pieces(f"{valve.kind} {valve.trade_size}", "each running one zone", [zone])
    tally.pieces(plan.device.kind, "before the valves", plan.guards)
    for place in plan.places:
        buried = sum(plan.valves[zone].kind == "in-line valve" for zone in place.zones)
        boxes = max(math.ceil(buried / VALVES_IN_A_BOX), 1)
        tally.pieces(
            "valve box",
            f"for up to {VALVES_IN_A_BOX} valves each, at least one at each place for the splices",
            [place.id],
            each=boxes,
        )


def _count_risers(tally: Tally, plan: _Plan) -> Sockets:
    """Pipe up to each device that stands above the ground and down again. Returns the sockets that are joined."""
    cover = plan.yard.rules.trench_depth
    height = {place.id: place.device_height for place in plan.places}
    if plan.device.scope == "zone":
        stands = [(zone.id, height[zone.place], plan.valves[zone.id].trade_size) for zone in plan.zones]
    elif plan.device.above_outlets is not None:
        mains = {place.id: size_at(plan.pipes, place.id, None) for place in plan.places}
        stands = [(place, height[place], pipe.size) for place, pipe in mains.items() if pipe is not None]
    else:
        first = plan.first_main if plan.device.above_ground > 0 else None
        stands = [("water entry", plan.device.above_ground, first.size)] if first else []
    sockets: Sockets = Counter()
    for where, above, size in stands:
        if above is not None:
            length = 2 * (max(above, 0.0) + cover)
            tally.metres(f"pipe {RISER_MATERIAL} {size}", length, f"up to the device and down again at {where}")
            tally.pieces(f"elbow {RISER_MATERIAL} {size}", "at risers to devices", [where], each=RISER_ELBOWS)
            tally.pieces(f"adapter {RISER_MATERIAL} {size}", "on risers, both sides of devices", [where], each=2)
            sockets[RISER_MATERIAL, size] += 2 * RISER_ELBOWS + 2
    return sockets


def _count_winter(tally: Tally, plan: _Plan, nodes: Sequence[Node]) -> None:
    """What lets the water out before frost: a shut-off, drains at the low points, a fitting for compressed air."""
    if plan.mains:
        tally.pieces("isolating valve", "at the beginning of the main", ["water entry"])
    ring = [pipe.id for pipe in ring_of(plan.mains)]
    tally.pieces("isolating valve", "at both ends of each stretch of the ring", ring, each=2)
    ground = {node.id: node.ground for node in nodes}
    for zone in (None, *(zone.id for zone in plan.zones)):
        reached = [node for pipe in plan.pipes if pipe.zone == zone for node in (pipe.start, pipe.end)]
        if reached:
            lowest = min(reached, key=lambda node: ground[node])
            whose = "of the main" if zone is None else "of a zone's laterals"
            tally.pieces("drain valve", f"at the lowest point {whose}", [lowest])
    why = "after backflow devices, or before the valves; compressed air: wear eye protection, stand clear of heads"
    after = plan.guards if plan.device.scope == "system" else ["water entry"]
    tally.pieces("blow-out fitting", why, after)


def _count_adapters(tally: Tally, plan: _Plan) -> Sockets:
    """Adapters from pipe to thread: both sides of valves and devices. Returns their number by material and size."""
    found: Sockets = Counter()

    def adapt(pipe: Pipe | None, why: str, where: str, *, thread: str | None = None, each: int = 1) -> None:
        if pipe is None:
            return
        found[pipe.material, pipe.size] += each
        tally.pieces(f"adapter {pipe.material} {pipe.size}", why, [where], each=each)
        if thread is not None and nominal(thread) != nominal(pipe.size):
            larger = max(thread, pipe.size, key=nominal)
            tally.pieces(f"reducer {pipe.material} {larger}", "where valve and pipe differ", [where], each=each)

    for zone in plan.zones:
        size = plan.valves[zone.id].trade_size
        adapt(size_at(plan.pipes, zone.place, None), "before valves", zone.id, thread=size)
        adapt(size_at(plan.pipes, zone.place, zone.id), "after valves", zone.id, thread=size)
    adapt(plan.first_main, "at the house pipe and both sides of the isolating valve", "water entry", each=3)
    for run in ring_of(plan.mains):
        adapt(run, "both sides of isolating valves in the ring", run.id, each=4)
    for where in plan.guards:
        if plan.device.scope == "zone":
            place = next(zone.place for zone in plan.zones if zone.id == where)
            pipe = size_at(plan.pipes, place, where)
        else:
            pipe = plan.first_main if where == "water entry" else size_at(plan.pipes, where, None)
        adapt(pipe, "both sides of backflow devices", where, each=2)
    return found


def _count_wire(tally: Tally, plan: _Plan) -> None:
    """Single strands along the main, by the shorter way in a ring, and splices at the valves.

    One strand for each zone at and beyond, a common and a spare.
    """
    beside = nearest_ways(plan.mains, root_of(plan.mains)) if plan.mains else {}
    beyond = _zones_beyond(plan, beside)
    controller, entry = plan.yard.controller.at, plan.yard.water_entry.at
    lead = math.dist(controller, entry) if controller is not None else 0.0
    from_where = "from the controller" if controller is not None else "from the water entry (no controller place given)"
    strands = sum(run.length * (beyond[node] + 2) for node, run in beside.items() if beyond[node])
    total = len(plan.zones)
    if total:
        loops = WIRE_LOOP * sum(len(place.zones) + 2 for place in plan.places)
        why = f"of strand {from_where} along the main: one for each zone at and beyond, a common and a spare"
        tally.metres("wire", strands + loops + lead * (total + 2), why)
    tally.pieces("splice", "at valves, two each", [zone.id for zone in plan.zones], each=2)


def _zones_beyond(plan: _Plan, beside: Mapping[str, Pipe]) -> Counter[str]:
    """Number of zones whose wires pass a node of the main; beside, the run that they come along to each node."""
    found: Counter[str] = Counter()
    for place in plan.places:
        node = place.id
        found[node] += len(place.zones)
        while node in beside:
            run = beside[node]
            node = run.start if run.end == node else run.end
            found[node] += len(place.zones)
    return found


def _count_sleeves(tally: Tally, trenches: Sequence[Trench], mains: set[str]) -> None:
    """One sleeve for each pipe under paving, and one for the wire where a main lies."""
    for trench in (trench for trench in trenches if trench.sleeve):
        number = len(trench.pipes) + int(any(pipe in mains for pipe in trench.pipes))
        length = number * (trench.length + 2 * SLEEVE_OVERHANG)
        tally.metres("sleeve", length, f"under paving at {trench.id}, {number} side by side")
