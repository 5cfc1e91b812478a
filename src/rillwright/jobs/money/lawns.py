"""Lawns in phases: as the yard puts them, or as somebody asks, and which zones that ties together."""

from collections.abc import Mapping, Sequence

from shapely.geometry import Point

from rillwright.errors import InputError
from rillwright.model.ground import resolve_ground
from rillwright.model.joined import nearest
from rillwright.model.plan import Plan
from rillwright.model.site import MOST_PHASES, Yard

__all__ = ["lawns_of", "said_phases", "tied_zones", "with_phases"]


def lawns_of(plan: Plan) -> Mapping[str, frozenset[str]]:
    """The lawns, as they are drawn, that each zone waters."""
    shapes = resolve_ground(plan.yard).each_lawn
    lawn = {h.id: h.lawn if h.lawn in shapes else nearest(Point(h.at), shapes) for h in plan.heads}
    return {zone.id: frozenset(lawn[head] for head in zone.heads) for zone in plan.zones}


def said_phases(yard: Yard) -> list[list[str]]:
    """Lawns phase by phase, as the yard puts them; those that it puts in none are left out."""
    found: dict[int, list[str]] = {}
    for lawn in yard.lawns:
        if lawn.phase is not None:
            found.setdefault(lawn.phase, []).append(lawn.id)
    return [found[phase] for phase in sorted(found)]


def tied_zones(plan: Plan) -> tuple[str, ...]:
    """Zones that water lawns which the yard puts in different phases."""
    phases = {lawn.id: lawn.phase for lawn in plan.yard.lawns}
    if len(set(phases.values())) < 2:
        return ()
    return tuple(zone for zone, lawns in lawns_of(plan).items() if len({phases[lawn] for lawn in lawns}) > 1)


def with_phases(plan: Plan, given: Sequence[Sequence[str]]) -> Yard:
    """The plan's yard with its lawns put in phases; those that nobody names go last.

    Errors: InputError for no phases, a name that is no lawn of the yard, a lawn named twice, or too many phases.
    """
    if not given:
        raise InputError(
            "--apart: name the lawns phase by phase, such as --phases 'front lawn / back lawn', "
            "or give the lawns of the yard their `phase`."
        )
    drawn = resolve_ground(plan.yard).drawn
    phase: dict[str, int] = {}
    for number, names in enumerate(given, start=1):
        for name in names:
            own = tuple(drawn.get(name, ())) or tuple(lawn.id for lawn in plan.yard.lawns if lawn.id == name)
            if not own:
                lawns = ", ".join(lawn.id for lawn in plan.yard.lawns)
                raise InputError(f"--apart keeps lawns apart, and '{name}' is none of this yard. It has {lawns}.")
            twice = next((lawn for lawn in own if lawn in phase), None)
            if twice is not None:
                raise InputError(f"--phases: '{twice}' is named twice; name it once.")
            phase |= dict.fromkeys(own, number)
    rest = len(given) + 1
    if rest > MOST_PHASES and len(phase) < len(plan.yard.lawns):
        raise InputError(f"--phases: lawns that nobody names would come in phase {rest}; {MOST_PHASES} are the most.")
    areas = [
        area.model_copy(update={"phase": phase.get(area.id, rest)}) if area.kind == "lawn" else area
        for area in plan.yard.areas
    ]
    return plan.yard.model_copy(update={"areas": areas})
