"""What a draft costs: the same take-off that the finished plan gets."""

import math
from dataclasses import dataclass

from rillwright.jobs.case import Case
from rillwright.jobs.zoned import Draft
from rillwright.solvers.takeoff import cost_of, find_reuse, take_off

__all__ = ["total_of"]


@dataclass(frozen=True, slots=True)
class _Zone:
    """A zone as the take-off reads it."""

    id: str
    heads: tuple[str, ...]
    place: str
    flow: float  # [m³/s]


def total_of(draft: Draft, case: Case) -> float:
    """Whole cost [currency] of a draft that fits: parts, trenches, and what is moved; infinite when it does not fit."""
    if not draft.fits or draft.pipework is None or draft.settled is None:
        return math.inf
    work, heads = draft.pipework, draft.room.heads
    flows = draft.settled.expected
    zones = [_Zone(z.id, tuple(h.id for h in z.heads), z.place, flows[z.id].flow) for z in draft.zones]
    existing = find_reuse(case.yard, heads=heads, places=draft.places, pipes=work.pipes)
    parts = take_off(
        yard=case.yard,
        catalogue=case.catalogue,
        heads=heads,
        zones=zones,
        places=draft.places,
        pipes=work.pipes,
        trenches=work.trenches,
        nodes=work.nodes,
        backflow=draft.kind,
        existing=existing,
    )
    return cost_of(parts, work.trenches, case.yard, existing).total
