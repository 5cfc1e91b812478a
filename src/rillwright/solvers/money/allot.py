"""Which zones each part, trench and charge is for, so that a job can be split into phases.

Pipe goes by the stretches of trench that it lies in, and a stretch serves every zone whose lateral, or whose water on
the way through the main, passes it. Heads and what stands under them belong to their zone, valves to theirs or, by
equal shares, to the zones of their place. What serves all (backflow device, shut-off, fittings and wire of the main)
is for every zone, and so for the first phase. What is counted in bulk is shared by heads.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from rillwright.model.fittings import family_of
from rillwright.model.parts import Price
from rillwright.model.plan import Pipe, Plan, Point, Trench
from rillwright.solvers.guide.materials import Materials
from rillwright.solvers.money.phases import Cap, Zones

__all__ = ["Allotment", "allot_parts", "caps_of", "lawn_units", "trench_zones"]

Net = str | None  # zone, or None for the main


@dataclass(frozen=True, slots=True)
class Allotment:
    """A share of one part's cost."""

    part: str
    share: float
    zones: Zones
    where: str  # trench, step or zone


def trench_zones(plan: Plan) -> Mapping[str, Zones]:
    """Zones that each trench serves; all of them where its pipe serves none by itself."""
    every = frozenset(zone.id for zone in plan.zones)
    served = {pipe.id: frozenset({pipe.zone}) if pipe.zone else _beyond(plan, pipe, every) for pipe in plan.pipes}
    return {
        trench.id: frozenset().union(*(served[pipe] for pipe in trench.pipes if pipe in served)) or every
        for trench in plan.trenches
    }


def _beyond(plan: Plan, pipe: Pipe, every: Zones) -> Zones:
    """Zones that get no water without a stretch of the main; all where there is another way round, as in a ring."""
    mains = [one for one in plan.pipes if one.role == "main"]
    fed = {one.end for one in mains}
    roots = {one.start for one in mains} - fed or {mains[0].start}
    ways: dict[str, list[str]] = defaultdict(list)
    for one in mains:
        if one.id != pipe.id:
            ways[one.start].append(one.end)
            ways[one.end].append(one.start)
    reached, waiting = set(roots), list(roots)
    while waiting:
        for node in ways[waiting.pop()]:
            if node not in reached:
                reached.add(node)
                waiting.append(node)
    dry = frozenset(zone for place in plan.places if place.id not in reached for zone in place.zones)
    return dry or every


def allot_parts(plan: Plan, materials: Materials) -> Iterator[Allotment]:
    """Share every line of the parts list among zones; the shares of one part add up to 1."""
    every = frozenset(zone.id for zone in plan.zones)
    serves = trench_zones(plan)
    places = {place.id: place.zones for place in plan.places}
    found: dict[str, dict[tuple[Zones, str], float]] = defaultdict(lambda: defaultdict(float))
    for trench in plan.trenches:
        for pipe in (one for one in plan.pipes if one.id in trench.pipes):
            found[f"pipe {pipe.material} {pipe.size}"][serves[trench.id], trench.id] += trench.length
        if trench.sleeve:
            found["sleeve"][serves[trench.id], trench.id] += trench.length
    laid = set(found)
    for step, taken in materials.by_step.items():
        kind, _, of = step.partition(":")
        for part in (one for one in taken if one.part not in laid):
            if kind in ("lay", "heads"):
                found[part.part][frozenset({of}), step] += part.quantity
            elif kind == "valves" and "valve" in part.part:
                for zone in places[of]:
                    found[part.part][frozenset({zone}), step] += part.quantity / len(places[of])
            else:
                found[part.part][frozenset(places[of]) if kind == "valves" else every, step] += part.quantity
    for line in plan.parts:
        shares = found.get(line.part) or _by_heads(plan)
        whole = sum(shares.values())
        for (zones, where), amount in shares.items():
            yield Allotment(line.part, amount / whole, zones, where)


def _by_heads(plan: Plan) -> Mapping[tuple[Zones, str], float]:
    return {(frozenset({zone.id}), zone.id): float(max(1, len(zone.heads))) for zone in plan.zones}


def lawn_units(plan: Plan) -> list[Zones]:
    """Zones that are built together, as they share a lawn, each with the next: a lawn is watered whole or not."""
    lawn_of = {head.id: head.lawn for head in plan.heads}
    lawns = [(frozenset({zone.id}), {lawn_of[head] for head in zone.heads}) for zone in plan.zones]
    units: list[tuple[Zones, set[str]]] = []
    for zones, own in lawns:
        joined = [unit for unit in units if unit[1] & own]
        units = [unit for unit in units if not unit[1] & own]
        units.append((zones.union(*(unit[0] for unit in joined)), own.union(*(unit[1] for unit in joined))))
    order = [zone.id for zone in plan.zones]
    return sorted((unit for unit, _ in units), key=lambda unit: min(map(order.index, unit)))


def caps_of(plan: Plan, prices: Mapping[str, Price], *, tax: float) -> tuple[Cap, ...]:
    """Ends that are closed where a later phase goes on: between stretches, at heads, at valve places.

    Each costs two couplings of its pipe: a cap of about that price now, and the joint later. Judgement.
    """
    serves = trench_zones(plan)
    pipes = {pipe.id: pipe for pipe in plan.pipes}
    meets: dict[tuple[Net, Point], list[tuple[Trench, Pipe]]] = defaultdict(list)
    for trench in plan.trenches:
        for pipe in (pipes[name] for name in trench.pipes if name in pipes):
            for end in {trench.path[0], trench.path[-1]}:
                meets[pipe.zone, _spot(end)].append((trench, pipe))
    at = {node.id: _spot(node.at) for node in plan.nodes}
    found: dict[tuple[Net, Point, Zones, Zones], Cap] = {}

    def cap(net: Net, spot: Point, first: Zones, later: Zones, pipe: Pipe, what: str) -> None:
        if first != later:
            price = prices.get(f"coupling {family_of(pipe.material)} {pipe.size}")
            cost = 2 * (price.price if price else 0.0) * (1 + tax)
            found.setdefault((net, spot, first, later), Cap(cost, first, later, f"{pipe.id} {what}"))

    for (net, spot), here in meets.items():
        for (a, pipe), (b, other) in combinations(here, 2):
            cap(net, spot, serves[a.id], serves[b.id], pipe, f"where {a.id} meets {b.id}")
            cap(net, spot, serves[b.id], serves[a.id], other, f"where {b.id} meets {a.id}")
    for zone, name in _ends(plan):
        if name in at:
            for trench, pipe in meets.get((zone, at[name]), ()):
                cap(zone, at[name], serves[trench.id], frozenset({zone}), pipe, f"at {name}")
    for place in plan.places:
        for trench, pipe in meets.get((None, _spot(place.at)), ()):
            cap(None, _spot(place.at), serves[trench.id], frozenset(place.zones), pipe, f"at {place.id}")
    return tuple(found.values())


def _ends(plan: Plan) -> Iterable[tuple[str, str]]:
    """Zones with their heads and their valve place: where laterals end."""
    for zone in plan.zones:
        yield from ((zone.id, node) for node in (zone.place, *zone.heads))


def _spot(at: Sequence[float]) -> Point:
    """A place to the millimetre."""
    return round(at[0], 3), round(at[1], 3)
