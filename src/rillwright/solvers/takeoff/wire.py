"""Single strands from the controller along the main, and their splices."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence

from rillwright.model.plan import Pipe, ValvePlace
from rillwright.model.site import Yard
from rillwright.solvers.mains import nearest_ways, root_of
from rillwright.solvers.takeoff.fed import FedZone
from rillwright.solvers.takeoff.tally import Tally

__all__ = ["WIRE_LOOP", "count_wire"]

WIRE_LOOP = 1.0  # [m] of each strand left in a box for splicing; common practice, no source


def count_wire(
    tally: Tally, *, yard: Yard, zones: Sequence[FedZone], places: Sequence[ValvePlace], mains: Sequence[Pipe]
) -> None:
    """Count strands along the main, by the shorter way in a ring, and waterproof splices at the valves.

    One strand for each zone at and beyond, a common and a spare.
    """
    beside = nearest_ways(mains, root_of(mains)) if mains else {}
    beyond = _zones_beyond(places, beside)
    controller, entry = yard.controller.at, yard.water_entry.at
    lead = math.dist(controller, entry) if controller is not None else 0.0
    from_where = "from the controller" if controller is not None else "from the water entry (no controller place given)"
    strands = sum(run.length * (beyond[node] + 2) for node, run in beside.items() if beyond[node])
    total = len(zones)
    if total:
        loops = WIRE_LOOP * sum(len(place.zones) + 2 for place in places)
        why = f"of strand {from_where} along the main: one for each zone at and beyond, a common and a spare"
        tally.metres("wire", strands + loops + lead * (total + 2), why)
    tally.pieces("splice", "at valves, two each", [zone.id for zone in zones], each=2)


def _zones_beyond(places: Sequence[ValvePlace], beside: Mapping[str, Pipe]) -> Counter[str]:
    """Number of zones whose wires pass a node of the main; beside, the run that they come along to each node."""
    found: Counter[str] = Counter()
    for place in places:
        node = place.id
        found[node] += len(place.zones)
        while node in beside:
            run = beside[node]
            node = run.start if run.end == node else run.end
            found[node] += len(place.zones)
    return found
