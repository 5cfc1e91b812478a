"""The wire of a plan in words and as CSV: runs with their strands, circuits with their voltages, what to buy."""

import csv
import io

from rillwright.model.wire import WirePlan
from rillwright.physics.units import System, show

__all__ = ["WIRE_CAUTIONS", "wire_csv", "wire_rows", "wire_told"]

WIRE_CAUTIONS = (
    "Line voltage, from the house to the transformer, is left to a licensed person; the circuit is dead until then.",
    "Control wire keeps apart from line voltage: not in one box or conduit, nor in one trench where code forbids it.",
    "Have buried services located and marked before digging: call the utility-location service first.",
)
Rows = list[tuple[str, ...]]


def wire_rows(wire: WirePlan, system: System) -> tuple[Rows, Rows]:
    """Rows of the runs and of the circuits, each with its heading first."""
    runs: Rows = [("from", "to", "length", "strands", "of zones")]
    runs += [
        (run.start, run.end, show(run.length, "length", system), str(run.strands), ", ".join(run.zones))
        for run in wire.runs
    ]
    circuits: Rows = [("zone", "one way", "opening", "holding", "held open beside it")]
    circuits += [
        (
            zone.zone,
            show(zone.length, "length", system),
            show(zone.opening, "voltage", system),
            show(zone.holding, "voltage", system),
            ", ".join(zone.beside) or "none",
        )
        for zone in wire.zones
    ]
    return runs, circuits


def wire_told(wire: WirePlan, system: System) -> list[tuple[str, str]]:
    """What an installer asks of the wire: name and value."""
    terms, worst = wire.terms, min(zone.opening for zone in wire.zones)
    least = f"{show(worst, 'voltage', system)}; {show(terms.least, 'voltage', system)} needed"
    told = [
        ("zones' strands and spares", f"{wire.station} AWG, {show(wire.station_metres, 'length', system)}, no offcuts"),
        ("common", f"{wire.common} AWG, {show(wire.common_metres, 'length', system)}, no offcuts"),
        ("least voltage at a valve as it opens", least),
        ("transformer", _transformer(wire, system)),
        ("waterproof splices", str(wire.splices + wire.reel_splices)),
        ("cover over the wire", show(wire.cover, "depth", system)),
    ]
    if wire.boxes:
        told.append(("splice boxes where the common parts", ", ".join(wire.boxes)))
    if terms.surge_ground:
        told.append(("surge ground", "rod, clamp and arrester at the controller, as local code asks"))
    return told


def wire_csv(wire: WirePlan, system: System) -> str:
    """Runs, circuits and totals, one under the other."""
    out = io.StringIO()
    writer = csv.writer(out)
    for rows in (*wire_rows(wire, system), wire_told(wire, system)):
        writer.writerows(rows)
        writer.writerow([])
    return out.getvalue()


def _transformer(wire: WirePlan, system: System) -> str:
    given = wire.terms.transformer
    gives = f"yours gives {show(given, 'load', system)}" if given else "the yard does not say what yours gives"
    return f"{show(wire.opening_load, 'load', system)} as the last valve opens; {gives}"
