"""The parts list, counted off the plan's geometry, and what the plan costs.

Every node is an assembly of real fittings (docs/theory/parts.md), every run the pieces it is laid in, every joint what
it uses up. Each line says how its quantity came about. Prices are the catalogue's; a part without a price is kept at 0
and marked, and `unpriced` finds it. What the yard's owner has bought already is listed and not charged.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence

from rillwright.model.fittings import nominal
from rillwright.model.manifold import BenchTerms
from rillwright.model.parts import BackflowDevice, BackflowSize, Catalogue, Valve
from rillwright.model.placed import AT_DEVICES, OVER_VALVES
from rillwright.model.plan import Cost, ExistingUse, Head, Node, PartLine, Pipe, Plan, Trench, ValvePlace
from rillwright.model.regulation import REGULATORS, Fitted
from rillwright.model.site import BackflowKind, Yard
from rillwright.solvers.devices import valve_for
from rillwright.solvers.joining import joiner_of
from rillwright.solvers.mains import ring_of
from rillwright.solvers.manifold import Bench
from rillwright.solvers.takeoff.benches import STIFF, bench_at, main_drain, shelf_of
from rillwright.solvers.takeoff.devices import Devices, Setting, place_devices
from rillwright.solvers.takeoff.fed import FedZone
from rillwright.solvers.takeoff.joints import count_joints
from rillwright.solvers.takeoff.network import Network, build_network, swing_joint
from rillwright.solvers.takeoff.reuse import count_kept
from rillwright.solvers.takeoff.tally import NO_PRICE, Tally
from rillwright.solvers.takeoff.wire import count_wire

__all__ = ["cost_of", "take_off", "take_off_plan", "unpriced"]

SLEEVE_OVERHANG = 0.3  # [m] of a sleeve past each edge of the paving; common practice, no source
GRAVEL_UNDER_BOX = 2  # bags of 25 kg; under each box, and one round each drain valve: common practice, no source


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
    drained, shelf, terms = main_drain(pipes, nodes, places), shelf_of(catalogue, yard.units), BenchTerms.of(yard)
    benches = [
        bench_at(
            place,
            zones,
            pipes,
            yard=yard,
            catalogue=catalogue,
            kind=backflow,
            valves=valves,
            drained=drained,
            terms=terms,
            shelf=shelf,
        )
        for place in places
    ]
    setting = _setting(
        yard, zones, places, pipes, valves, catalogue.backflow[backflow], regulators, benches=benches, drained=drained
    )
    joiner = joiner_of(catalogue.fittings)
    devices = place_devices(setting, joiner)
    network = build_network(setting, devices, heads=heads, pipes=pipes, nodes=nodes, catalogue=catalogue, joiner=joiner)
    tally = Tally(yard.units)
    _count_heads(tally, heads)
    _count_pipes(tally, network, devices, pipes)
    boxes = {place: manifold.box for place, manifold in devices.manifolds.items()}
    _count_valves(tally, setting, pipes, boxes)
    for one in regulators:
        tally.pieces(REGULATORS[one.at], "where the pressure would be too high", one.where)
    tally.pieces("check valve in a head", "in heads that would empty the pipes over them", check_valves)
    _count_winter(tally, network)
    _count_manifolds(tally, devices)
    _count_assemblies(tally, network, devices)
    count_joints(tally, network, devices)
    count_wire(
        tally, yard=yard, catalogue=catalogue, places=places, mains=[pipe for pipe in pipes if pipe.role == "main"]
    )
    _count_sleeves(tally, trenches, {pipe.id for pipe in pipes if pipe.role == "main"})
    tally.own(
        [f"{v.kind} {v.trade_size}" for v in valves.values() if v.kind == yard.valves.allowed[0]], yard.valves.owned
    )
    guards = [size.part for size in _guards(setting).values()]
    tally.own(guards, int(yard.backflow.owned == backflow))
    count_kept(tally, yard, existing, heads, boxes)
    return tally


def take_off_plan(plan: Plan, catalogue: Catalogue) -> Tally:
    """Count every part of a finished plan again, place by place. Errors: ValueError for a plan without valve places."""
    if not plan.places:
        raise ValueError("the plan has no valve places, so nothing is to be bought")
    return take_off(
        yard=plan.yard,
        catalogue=catalogue,
        heads=plan.heads,
        zones=plan.zones,
        places=plan.places,
        pipes=plan.pipes,
        trenches=plan.trenches,
        nodes=plan.nodes,
        backflow=plan.backflow or plan.places[0].backflow,
        existing=plan.existing,
        regulators=plan.regulation.fitted if plan.regulation else (),
        check_valves=[checked.head for zone in plan.drainage for checked in zone.checked],
    )


def _setting(
    yard: Yard,
    zones: Sequence[FedZone],
    places: Sequence[ValvePlace],
    pipes: Sequence[Pipe],
    valves: Mapping[str, Valve],
    device: BackflowDevice,
    regulators: Sequence[Fitted],
    *,
    benches: Sequence[Bench],
    drained: str | None,
) -> Setting:
    mains = [pipe for pipe in pipes if pipe.role == "main"]
    fed = {pipe.end for pipe in mains}
    first = max((p for p in mains if p.start not in fed), key=lambda p: nominal(p.size), default=None)
    house = yard.water_entry.pipe
    return Setting(
        yard=yard,
        zones=zones,
        places=places,
        valves=valves,
        device=device,
        main=(first.material, first.size) if first is not None else (house.material, house.size),
        benches=benches,
        drained=drained,
        reducing=any(one.at == "source" for one in regulators),
    )


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
    for head in heads:
        tally.pieces(f"swing joint {swing_joint(head.head_class)}", "under heads", [head.id])


def _count_pipes(tally: Tally, network: Network, devices: Devices, pipes: Sequence[Pipe]) -> None:
    """Pipe by the metre as drawn, and the pieces that it is laid in."""
    for part in dict.fromkeys(f"pipe {pipe.material} {pipe.size}" for pipe in pipes):
        for role in ("main", "lateral"):
            runs = [pipe for pipe in pipes if f"pipe {pipe.material} {pipe.size}" == part and pipe.role == role]
            runs_word = f"in {len(runs)} run{'s' if len(runs) != 1 else ''}"
            tally.metres(part, sum(pipe.length for pipe in runs), f"of {role} {runs_word}")
    for run in network.runs:
        first = run.pipes[0]
        lengths = tuple((pipe.id, pipe.length) for pipe in run.pipes)
        tally.cut(f"pipe {first.material} {first.size}", run.pieces, lengths, "runs")
        if run.short > 0:
            tally.short.append((first.id, run.short))
    for where, size, length in devices.uprights:
        part = f"pipe {STIFF} {size}"
        tally.metres(part, length, f"up to the device or down again at {where}")
        tally.cut(part, [math.ceil(1000 * length)], ((where, length),), AT_DEVICES)


def _count_valves(tally: Tally, setting: Setting, pipes: Sequence[Pipe], boxes: Mapping[str, str]) -> None:
    """Valves, devices before them, shut-offs of the main, and a box at each place."""
    for zone, valve in setting.valves.items():
        tally.pieces(f"{valve.kind} {valve.trade_size}", "each running one zone", [zone])
    for where, size in _guards(setting).items():
        tally.pieces(size.part, "before the valves", [where])
    for place, box in boxes.items():
        tally.pieces(box, OVER_VALVES, [place])
        tally.pieces("bag of gravel", "under valve boxes", [place], each=GRAVEL_UNDER_BOX)
    tally.pieces(f"isolating valve {setting.main[1]}", "where the main begins", ["water entry"])
    for run in ring_of([pipe for pipe in pipes if pipe.role == "main"]):
        tally.pieces(f"isolating valve {run.size}", "at both ends of each stretch of the ring", [run.id], each=2)


def _count_manifolds(tally: Tally, devices: Devices) -> None:
    """Fittings, shut-offs and pipe of the manifolds, just as the bench puts them together."""
    tally.open += devices.open
    for place, manifold in devices.manifolds.items():
        for part, why, where, number in manifold.pieces:
            tally.pieces(part, why, [where], each=number)
        metres: dict[str, float] = defaultdict(float)
        for part, _, _, lengths in manifold.cuts:
            metres[part] += sum(lengths)
        for part, length in metres.items():
            tally.metres(part, length, f"in the manifold at {place}")
        for part, why, where, lengths in manifold.cuts:
            pieces = [math.ceil(1000 * length - 1e-6) for length in lengths]
            tally.cut(part, pieces, ((where, sum(lengths)),), why)


def _guards(setting: Setting) -> dict[str, BackflowSize]:
    """Where backflow devices of their own stand, and their sizes; none where every valve holds its own breaker."""
    device, yard = setting.device, setting.yard
    if device.scope == "zone":
        own = {zone: valve for zone, valve in setting.valves.items() if valve.kind == "in-line valve"}
        return {zone: device.for_line(valve.trade_size) for zone, valve in own.items()}
    sizes = {place.id: device.for_line(place.backflow_size or yard.backflow_line) for place in setting.places}
    return sizes if device.above_outlets is not None else {"water entry": sizes[setting.places[0].id]}


def _count_winter(tally: Tally, network: Network) -> None:
    """What lets the water out before frost: drains at the low points, a fitting for compressed air."""
    for node, zone in network.drains:
        whose = "of the main" if zone is None else "of a zone's laterals"
        tally.pieces("drain valve", f"at the lowest point {whose}", [node])
    drained = [node for node, _ in network.drains]
    tally.pieces("round box", "over drain valves", drained)
    tally.pieces("bag of gravel", "round drain valves", drained)
    why = "after backflow devices, or before the valves; compressed air: wear eye protection, stand clear of heads"
    tally.pieces("blow-out fitting", why, network.air)


def _count_assemblies(tally: Tally, network: Network, devices: Devices) -> None:
    """The fittings of every node and run, short pieces of pipe between them, and what cannot be joined."""
    for joined in (*devices.joined, *network.joined):
        assembly = joined.assembly
        for part, number in assembly.parts:
            tally.pieces(part, joined.why, [joined.where], each=number)
        for material, size in assembly.pieces:
            tally.stub(f"pipe {material} {size}", joined.where, joined.why)
        tally.open += [(joined.where, words) for words in assembly.open]
    for where, size in network.plugs:
        tally.pieces(f"plug {size}", "in ends that lead nowhere", [where])
    for run in network.runs:
        name = run.pipes[0].id
        counts: Counter[tuple[str, str]] = Counter()
        for why, assemblies in (("at bends along runs", run.bends), ("between sticks or coils", run.couplings)):
            for assembly in assemblies:
                counts.update({(part, why): number for part, number in assembly.parts})
                for material, size in assembly.pieces:
                    tally.stub(f"pipe {material} {size}", name, why)
                tally.open += [(name, words) for words in assembly.open]
        for (part, why), number in counts.items():
            tally.pieces(part, why, [name], each=number)


def _count_sleeves(tally: Tally, trenches: Sequence[Trench], mains: set[str]) -> None:
    """One sleeve for each pipe under paving, and one for the wire where a main lies."""
    for trench in (trench for trench in trenches if trench.sleeve):
        number = len(trench.pipes) + int(any(pipe in mains for pipe in trench.pipes))
        length = number * (trench.length + 2 * SLEEVE_OVERHANG)
        tally.metres("sleeve", length, f"under paving at {trench.id}, {number} side by side")
