"""What a system costs: the parts list with check valves and regulators, what is kept in the ground, and the total."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from rillwright.jobs.case import Case
from rillwright.jobs.pipework import Pipework
from rillwright.jobs.regulate import regulate
from rillwright.jobs.zoned import Draft
from rillwright.model.drainage import Drainage
from rillwright.model.plan import Cost, ExistingUse, Head, PartLine, Pipe, ValvePlace
from rillwright.model.regulation import Regulation
from rillwright.model.site import BackflowKind
from rillwright.solvers.drainage import zone_drainage
from rillwright.solvers.takeoff import FedZone, Tally, cost_of, find_reuse, take_off

__all__ = ["Bill", "BilledZone", "make_bill", "total_of"]


@dataclass(frozen=True, slots=True)
class Bill:
    """The money side of a system, and the water that its check valves hold."""

    parts: tuple[PartLine, ...]
    tally: Tally  # that they were counted in
    existing: tuple[ExistingUse, ...]
    drainage: tuple[Drainage, ...]
    cost: Cost


@dataclass(frozen=True, slots=True)
class BilledZone:
    """A draft's zone as the take-off reads it."""

    id: str
    heads: tuple[str, ...]
    place: str
    flow: float  # [m³/s]


def make_bill(
    zones: Sequence[FedZone],
    heads: Sequence[Head],
    places: Sequence[ValvePlace],
    work: Pipework,
    kind: BackflowKind,
    *,
    regulation: Regulation | None,
    case: Case,
) -> Bill:
    """Count and price a system with solved zones; regulation, what was built in for the pressure."""
    yard = case.yard
    by_id, laterals = {head.id: head for head in heads}, defaultdict[str | None, list[Pipe]](list)
    for pipe in work.pipes:
        laterals[pipe.zone].append(pipe)
    drainage = tuple(
        zone_drainage(zone, [by_id[h] for h in zone.heads], laterals[zone.id], terrain=case.ground.terrain, yard=yard)
        for zone in zones
    )
    existing = find_reuse(yard, heads=heads, places=places, pipes=work.pipes)
    tally = take_off(
        yard=yard,
        catalogue=case.catalogue,
        heads=heads,
        zones=zones,
        places=places,
        pipes=work.pipes,
        trenches=work.trenches,
        nodes=work.nodes,
        backflow=kind,
        existing=existing,
        regulators=regulation.fitted if regulation else (),
        check_valves=[checked.head for zone in drainage for checked in zone.checked],
    )
    parts = tally.lines(case.catalogue.prices, stock=case.catalogue.stock, spare=yard.rules.spare_parts)
    return Bill(parts, tally, existing, drainage, cost_of(parts, work.trenches, yard, existing))


def total_of(draft: Draft, case: Case) -> float:
    """Whole cost [currency] of a draft that fits: parts, trenches, and what is moved; infinite when it does not fit."""
    if not draft.fits:
        return math.inf
    draft, case, regulation = regulate(draft, case)
    assert draft.settled is not None
    assert draft.pipework is not None
    flows = draft.settled.expected
    zones = [BilledZone(z.id, tuple(h.id for h in z.heads), z.place, flows[z.id].flow) for z in draft.zones]
    bill = make_bill(
        zones, draft.room.heads, draft.places, draft.pipework, draft.kind, regulation=regulation, case=case
    )
    return bill.cost.total
