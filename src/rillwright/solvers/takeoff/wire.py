"""Control wire in the parts list: strands by gauge, splices, boxes where the common parts."""

from collections.abc import Sequence

from rillwright.model.parts import Catalogue
from rillwright.model.plan import Pipe, ValvePlace
from rillwright.model.site import Yard
from rillwright.solvers.takeoff.tally import Tally
from rillwright.solvers.wire import LOOP, choose_wire, wire_part, wire_price, wire_terms

__all__ = ["WIRE_LOOP", "count_wire"]

WIRE_LOOP = LOOP


def count_wire(
    tally: Tally, *, yard: Yard, catalogue: Catalogue, places: Sequence[ValvePlace], mains: Sequence[Pipe]
) -> None:
    """Count the strands of the wire that the yard's terms ask for, and waterproof splices at the valves."""
    terms = wire_terms(yard)
    wire = choose_wire(yard=yard, mains=mains, places=places, terms=terms, price=wire_price(catalogue))
    if wire is None:
        return
    entry = "the water entry (no controller place given)"
    where = "the controller" if yard.controller.at is not None else entry
    one_each = f"of strand from {where} along the main: one for each zone at and beyond"
    if wire.station == wire.common:
        length = wire.station_metres + wire.common_metres
        tally.metres(wire_part(wire.station), length, f"{one_each}, a common and a spare")
    else:
        tally.metres(wire_part(wire.station), wire.station_metres, f"{one_each}, and a spare")
        tally.metres(wire_part(wire.common), wire.common_metres, f"of common from {where} along the main")
    tally.pieces("splice", "at valves, two each", wire.zones, each=2)
    tally.pieces("splice", "of the common where it parts", wire.boxes)
    tally.pieces("splice box", "where the common parts away from valves", wire.boxes)
    tally.bulk("splice", wire.reel_splices, f"{wire.reel_splices} where a strand is longer than a reel")
    if terms.surge_ground:
        tally.pieces("surge ground", "as local code asks", ["controller"])
