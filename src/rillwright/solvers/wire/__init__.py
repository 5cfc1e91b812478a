"""Control wire: its way along the main, its strands, and the least copper that opens every valve.

Statement. Every valve place is reached along a tree of runs from the controller; a zone's own strand, of gauge s, and
the common, of gauge c, lead to its valve and back, each as long as its way L. A valve opens with the inrush current I
while k - 1 others are held open at the current h; these share with it S metres of the common. It gets

    V - I (r(s) + r(c)) L - h r(c) S

which must be at least the voltage that opens it, for every zone and the k - 1 others that share the most with it.
Choose s and c among the gauges on sale for the least price of all strands.

Method. S is a sum over the others, so those that share the most are the worst; both gauges are tried in all pairs, at
most 16. Exact. Currents count as constant and add arithmetically, which errs to the safe side: a valve at a lower
voltage draws less. No randomness.
"""

from collections.abc import Callable, Sequence
from itertools import product

from rillwright.model.plan import Pipe, ValvePlace
from rillwright.model.site import Yard
from rillwright.model.wire import Gauge, WirePlan, WireTerms, ZoneWire
from rillwright.physics.wires import drop, resistance
from rillwright.solvers.wire.ways import CONTROLLER, LOOP, Ways, find_ways

__all__ = ["CONTROLLER", "LOOP", "plan_wire", "wire_part"]

USUAL: Gauge = 18

Price = Callable[[Gauge], float]  # [currency/m]


def wire_part(gauge: Gauge) -> str:
    """Name of a strand in the parts list; the usual one, 18 AWG, is 'wire' there.

    >>> wire_part(14)
    'wire 14 AWG'
    """
    return "wire" if gauge == USUAL else f"wire {gauge} AWG"


def plan_wire(
    *, yard: Yard, mains: Sequence[Pipe], places: Sequence[ValvePlace], terms: WireTerms, price: Price
) -> WirePlan | None:
    """Plan the wire of a system. Parameters: mains, its main; price of a metre by gauge. None without valves."""
    if not any(place.zones for place in places):
        return None
    ways = find_ways(
        controller=yard.controller.at, entry=yard.water_entry.at, mains=mains, places=places, spares=terms.spares
    )
    circuits = _circuits(places, ways, terms)
    station_metres, common_metres = _metres(places, ways, terms)
    gauges = sorted(set(terms.gauges), reverse=True)

    def cost(pair: tuple[Gauge, Gauge]) -> tuple[float, int]:
        return station_metres * price(pair[0]) + common_metres * price(pair[1]), -sum(pair)

    pairs = [pair for pair in product(gauges, gauges) if _least(circuits, pair, terms) >= terms.least]
    station, common = min(pairs, key=cost) if pairs else (gauges[-1], gauges[-1])
    own, back = (resistance(gauge, temperature=terms.temperature) for gauge in (station, common))
    boxes, longest = _boxes(places, ways), [ways.length(place.id) for place in places for _ in place.zones]
    return WirePlan(
        terms=terms,
        station=station,
        common=common,
        station_ohm=own,
        common_ohm=back,
        enough=bool(pairs),
        runs=ways.runs,
        zones=tuple(_told(circuit, own, back, terms) for circuit in circuits),
        station_metres=station_metres,
        common_metres=common_metres,
        splices=2 * len(circuits) + len(boxes),
        boxes=boxes,
        reel_splices=sum(max(-int(-length // terms.reel) - 1, 0) for length in longest),
        opening_load=terms.voltage * (terms.inrush + (terms.at_once - 1) * terms.holding),
        holding_load=terms.voltage * terms.at_once * terms.holding,
        cover=yard.rules.trench_depth,
    )


def _circuits(places: Sequence[ValvePlace], ways: Ways, terms: WireTerms) -> list[ZoneWire]:
    """The way of each zone, and those beside it that share the most of the common; voltages still to be reckoned."""
    home = {zone: place.id for place in places for zone in place.zones}
    found: list[ZoneWire] = []
    for zone, place in home.items():
        shared = {other: ways.shared(place, there) for other, there in home.items() if other != zone}
        beside = sorted(shared, key=lambda other: -shared[other])[: terms.at_once - 1]
        length = ways.length(place)
        total = sum(shared[other] for other in beside)
        found.append(ZoneWire(zone=zone, length=length, beside=tuple(beside), shared=total, opening=0.0, holding=0.0))
    return found


def _told(circuit: ZoneWire, own: float, back: float, terms: WireTerms) -> ZoneWire:
    """A circuit with what reaches its valve."""
    aside = drop(terms.holding, length=circuit.shared, ohm=back)
    opening, holding = (
        terms.voltage - drop(current, length=circuit.length, ohm=own + back) - aside
        for current in (terms.inrush, terms.holding)
    )
    return circuit.model_copy(update={"opening": opening, "holding": holding})


def _least(circuits: Sequence[ZoneWire], pair: tuple[Gauge, Gauge], terms: WireTerms) -> float:
    own, back = (resistance(gauge, temperature=terms.temperature) for gauge in pair)
    return min(_told(circuit, own, back, terms).opening for circuit in circuits)


def _metres(places: Sequence[ValvePlace], ways: Ways, terms: WireTerms) -> tuple[float, float]:
    """Metres of the zones' strands with spares, and of the common, with a loop of each in every box."""
    wired = [place for place in places if place.zones]
    station = sum(run.length * (len(run.zones) + run.spares) for run in ways.runs)
    station += LOOP * sum(len(place.zones) + terms.spares for place in wired)
    return station, sum(run.length for run in ways.runs) + LOOP * len(wired)


def _boxes(places: Sequence[ValvePlace], ways: Ways) -> tuple[str, ...]:
    """Where the common parts away from every valve place."""
    leaving: dict[str, int] = {}
    for run in ways.runs:
        leaving[run.start] = leaving.get(run.start, 0) + 1
    stands = {place.id for place in places} | {CONTROLLER}
    return tuple(node for node, number in leaving.items() if number > 1 and node not in stands)
