"""Workings of the control wire: resistance, voltage at every valve, load of the transformer, strands."""

from collections.abc import Iterator

from rillwright.model.plan import Plan
from rillwright.model.wire import WirePlan, WireRun, ZoneWire
from rillwright.physics.units import show
from rillwright.physics.wires import resistance, wire_diameter
from rillwright.report.workings.working import Given, Working

__all__ = ["wire_workings"]

_THEORY = "docs/theory/wire.md"
_PRACTICE = "practice, no source; your valve's own figures in valves.inrush and valves.holding"


def wire_workings(plan: Plan) -> Iterator[Working]:
    """Workings of the wire of a plan; none without valves."""
    wire = plan.wire
    if wire is None:
        return
    for role, gauge, ohm in (("station", wire.station, wire.station_ohm), ("common", wire.common, wire.common_ohm)):
        yield _resistance(plan, wire, role, gauge, ohm)
    for zone in wire.zones:
        yield from _circuit(plan, wire, zone)
    yield from _loads(plan, wire)
    yield from _strands(plan, wire)


def _resistance(plan: Plan, wire: WirePlan, role: str, gauge: int, ohm: float) -> Working:
    warm = wire.terms.temperature
    return Working(
        f"wire.{role}.resistance",
        f"Resistance of the {role} wire",
        ohm,
        "wire resistance",
        "ρ / (π d² / 4) · (1 + 0.00393 (T - 20 °C)), ρ = 1.7241e-8 Ω m",
        (
            Given("gauge", f"{gauge} AWG"),
            Given("d = 0.005 in · 92^((36 - gauge) / 39)", show(wire_diameter(gauge), "bore", plan.yard.units)),
            Given("temperature T", show(warm, "temperature", plan.yard.units)),
        ),
        "ASTM B258 and the annealed copper standard, from memory; " + _THEORY,
        resistance(gauge, temperature=warm),
    )


def _circuit(plan: Plan, wire: WirePlan, zone: ZoneWire) -> Iterator[Working]:
    system, terms = plan.yard.units, wire.terms
    shown = {
        "one way L": show(zone.length, "length", system),
        "common shared with valves held open": show(zone.shared, "length", system),
    }
    ohms = (
        Given("zone's strand r(s)", show(wire.station_ohm, "wire resistance", system), "wire.station.resistance"),
        Given("common r(c)", show(wire.common_ohm, "wire resistance", system), "wire.common.resistance"),
    )
    for name, current, value in (
        ("opening", terms.inrush, zone.opening),
        ("holding", terms.holding, zone.holding),
    ):
        again = terms.voltage - current * zone.length * (wire.station_ohm + wire.common_ohm)
        again -= terms.holding * wire.common_ohm * zone.shared
        yield Working(
            f"wire.{zone.zone}.{name}",
            f"{zone.zone}: voltage at its valve, {name}",
            value,
            "voltage",
            "V - I (r(s) + r(c)) L - h r(c) S, S the common shared with valves held open",
            (
                Given("V at the controller", show(terms.voltage, "voltage", system)),
                Given("current I", show(current, "current", system)),
                Given("current h of each held open", show(terms.holding, "current", system)),
                *(Given(label, value) for label, value in shown.items()),
                Given("held open meanwhile", ", ".join(zone.beside) or "none"),
                *ohms,
            ),
            f"{_THEORY}; currents: {_PRACTICE}",
            again,
        )


def _loads(plan: Plan, wire: WirePlan) -> Iterator[Working]:
    system, terms = plan.yard.units, wire.terms
    given = (
        Given("V", show(terms.voltage, "voltage", system)),
        Given("valves at once k", str(terms.at_once)),
        Given("inrush I", show(terms.inrush, "current", system)),
        Given("holding h", show(terms.holding, "current", system)),
    )
    opening = terms.voltage * (terms.inrush + (terms.at_once - 1) * terms.holding)
    holding = terms.voltage * terms.at_once * terms.holding
    yield Working(
        "wire.load.opening",
        "Load of the transformer as the last valve opens",
        wire.opening_load,
        "load",
        "V (I + (k - 1) h)",
        given,
        f"{_THEORY}; currents: {_PRACTICE}",
        opening,
    )
    yield Working(
        "wire.load.holding",
        "Load of the transformer with every valve open that may be",
        wire.holding_load,
        "load",
        "V k h",
        given,
        f"{_THEORY}; currents: {_PRACTICE}",
        holding,
    )


def _strands(plan: Plan, wire: WirePlan) -> Iterator[Working]:
    system = plan.yard.units
    for role, metres, each in (
        ("station", wire.station_metres, "strands of the zones that pass, and spares"),
        ("common", wire.common_metres, "one"),
    ):
        runs = [
            Given(f"{run.start} to {run.end}", f"{show(run.length, 'length', system)} x {_number(run, role)}")
            for run in wire.runs
        ]
        yield Working(
            f"wire.{role}.metres",
            f"Length of {role} wire, without offcuts",
            metres,
            "length",
            f"Σ length of run · strands ({each}) + 1 m of each in every box",
            tuple(runs),
            "common practice, no source",
        )


def _number(run: WireRun, role: str) -> int:
    return run.strands - 1 if role == "station" else 1
