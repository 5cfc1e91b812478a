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
from dataclasses import dataclass
from itertools import product

from rillwright.model.parts import Catalogue
from rillwright.model.plan import Pipe, ValvePlace
from rillwright.model.site import Yard
from rillwright.model.wire import Gauge, WirePlan, WireRun, WireTerms, ZoneWire
from rillwright.physics.wires import resistance
from rillwright.solvers.wire.ways import CONTROLLER, LOOP, Ways, find_ways

__all__ = ["CONTROLLER", "LOOP", "Wire", "choose_wire", "plan_wire", "wire_part", "wire_price", "wire_terms"]

USUAL: Gauge = 18

Price = Callable[[Gauge], float]  # [currency/m]


@dataclass(frozen=True, slots=True)
class _Circuit:
    """The way of one zone's strand, and the others that share the most of the common with it."""

    zone: str
    length: float  # [m]
    beside: tuple[str, ...]
    shared: float  # [m]

    def voltage(self, current: float, own: float, back: float, terms: WireTerms) -> float:
        """What reaches the valve [V] at a current [A]; own and back, the strands' resistances [Ω/m]."""
        return terms.voltage - current * self.length * (own + back) - terms.holding * self.shared * back


def wire_part(gauge: Gauge) -> str:
    """Name of a strand in the parts list; the usual one, 18 AWG, is 'wire' there.

    >>> wire_part(14)
    'wire 14 AWG'
    """
    return "wire" if gauge == USUAL else f"wire {gauge} AWG"


def wire_price(catalogue: Catalogue) -> Price:
    """Price of a metre by gauge; 0 where there is none, as in the parts list."""
    prices = catalogue.prices
    return lambda gauge: prices[wire_part(gauge)].price if wire_part(gauge) in prices else 0.0


def wire_terms(yard: Yard) -> WireTerms:
    """What a yard says of its wire; the rest as usual."""
    return WireTerms(
        inrush=yard.valves.inrush,
        holding=yard.valves.holding,
        at_once=yard.controller.valves_at_once,
        transformer=yard.controller.transformer,
        surge_ground=yard.controller.surge_ground,
    )


@dataclass(frozen=True, slots=True)
class Wire:
    """The wire of a system: ways, gauges and what there is to buy."""

    ways: Ways
    circuits: tuple[_Circuit, ...]
    station: Gauge  # of the zones' strands and spares
    common: Gauge
    enough: bool  # whether every valve opens
    station_metres: float  # [m]
    common_metres: float  # [m]
    boxes: tuple[str, ...]  # junctions where the common parts
    reel_splices: int

    @property
    def zones(self) -> list[str]:
        """Zones that have a valve."""
        return [circuit.zone for circuit in self.circuits]


def choose_wire(
    *, yard: Yard, mains: Sequence[Pipe], places: Sequence[ValvePlace], terms: WireTerms, price: Price
) -> Wire | None:
    """Lay and choose the wire of a system. Parameters: mains, its main; price of a metre. None without valves."""
    if not any(place.zones for place in places):
        return None
    ways = find_ways(controller=yard.controller.at, entry=yard.water_entry.at, mains=mains, places=places)
    circuits = _circuits(places, ways, terms)
    station_metres, common_metres = _metres(places, ways, terms)
    ohm = {gauge: resistance(gauge, temperature=terms.temperature) for gauge in terms.gauges}
    serving = [pair for pair in product(ohm, ohm) if _opens(circuits, ohm[pair[0]], ohm[pair[1]], terms)]

    def cost(pair: tuple[Gauge, Gauge]) -> tuple[float, int]:
        return station_metres * price(pair[0]) + common_metres * price(pair[1]), -sum(pair)

    station, common = min(serving, key=cost) if serving else (min(ohm), min(ohm))
    joined = sum(int(max(circuit.length - 1e-9, 0.0) // terms.reel) for circuit in circuits)
    return Wire(
        ways,
        tuple(circuits),
        station,
        common,
        bool(serving),
        station_metres,
        common_metres,
        _boxes(places, ways),
        joined,
    )


def plan_wire(
    *, yard: Yard, mains: Sequence[Pipe], places: Sequence[ValvePlace], terms: WireTerms, price: Price
) -> WirePlan | None:
    """The chosen wire with all that a plan tells of it; None without valves."""
    wire = choose_wire(yard=yard, mains=mains, places=places, terms=terms, price=price)
    if wire is None:
        return None
    own, back = (resistance(gauge, temperature=terms.temperature) for gauge in (wire.station, wire.common))
    return WirePlan(
        terms=terms,
        station=wire.station,
        common=wire.common,
        station_ohm=own,
        common_ohm=back,
        enough=wire.enough,
        runs=tuple(WireRun(**run._asdict(), spares=terms.spares) for run in wire.ways.runs),
        zones=tuple(_told(circuit, own, back, terms) for circuit in wire.circuits),
        station_metres=wire.station_metres,
        common_metres=wire.common_metres,
        splices=2 * len(wire.circuits) + len(wire.boxes),
        boxes=wire.boxes,
        reel_splices=wire.reel_splices,
        opening_load=terms.voltage * (terms.inrush + (terms.at_once - 1) * terms.holding),
        holding_load=terms.voltage * terms.at_once * terms.holding,
        cover=yard.rules.trench_depth,
    )


def _circuits(places: Sequence[ValvePlace], ways: Ways, terms: WireTerms) -> list[_Circuit]:
    home = {zone: place.id for place in places for zone in place.zones}
    found: list[_Circuit] = []
    for zone, place in home.items():
        shared = {} if terms.at_once == 1 else {other: ways.shared(place, there) for other, there in home.items()}
        shared.pop(zone, None)
        beside = sorted(shared, key=lambda other: -shared[other])[: terms.at_once - 1]
        total = sum(shared[other] for other in beside)
        found.append(_Circuit(zone, ways.length(place), tuple(beside), total))
    return found


def _opens(circuits: Sequence[_Circuit], own: float, back: float, terms: WireTerms) -> bool:
    """Whether every valve gets the voltage that opens it."""
    return all(circuit.voltage(terms.inrush, own, back, terms) >= terms.least for circuit in circuits)


def _told(circuit: _Circuit, own: float, back: float, terms: WireTerms) -> ZoneWire:
    opening, holding = (circuit.voltage(current, own, back, terms) for current in (terms.inrush, terms.holding))
    return ZoneWire(
        zone=circuit.zone,
        length=circuit.length,
        beside=circuit.beside,
        shared=circuit.shared,
        opening=opening,
        holding=holding,
    )


def _metres(places: Sequence[ValvePlace], ways: Ways, terms: WireTerms) -> tuple[float, float]:
    """Metres of the zones' strands with spares, and of the common, with a loop of each in every box."""
    wired = [place for place in places if place.zones]
    station = sum(run.length * (len(run.zones) + terms.spares) for run in ways.runs)
    station += LOOP * sum(len(place.zones) + terms.spares for place in wired)
    return station, sum(run.length for run in ways.runs) + LOOP * len(wired)


def _boxes(places: Sequence[ValvePlace], ways: Ways) -> tuple[str, ...]:
    """Where the common parts away from every valve place."""
    leaving: dict[str, int] = {}
    for run in ways.runs:
        leaving[run.start] = leaving.get(run.start, 0) + 1
    stands = {place.id for place in places} | {CONTROLLER}
    return tuple(node for node, number in leaving.items() if number > 1 and node not in stands)
