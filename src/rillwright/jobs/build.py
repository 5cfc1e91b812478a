"""From heads to a buildable system under one backflow kind: zones, valve places, trenches, pipes, hydraulics.

The stages feed one another: pipe losses decide how much a zone may draw, and the zones decide the pipes. The loop
starts from a small allowance for pipe losses and raises it until sizes exist that leave every head its pressure.
"""

import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from rillwright.jobs.case import Case
from rillwright.jobs.pipework import Pipework, lay_pipes
from rillwright.jobs.progress import Progress
from rillwright.jobs.settle import Settled, ZoneSolver
from rillwright.model.findings import Proof
from rillwright.model.parts import BackflowDevice
from rillwright.model.plan import Head, ValvePlace
from rillwright.model.site import BackflowKind
from rillwright.solvers.places import (
    PlaceOption,
    device_height,
    may_serve,
    outlet_level,
    place_options,
    raised_over,
)
from rillwright.solvers.places.trench_walk import TrenchWalk
from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning import HeadLoad, ZoneGroup, ZoneProblem, Zoning, make_zones

__all__ = ["PIPE_ALLOWANCE", "Draft", "ZoneDraft", "build_system", "zone_system"]

PIPE_ALLOWANCE = 20e3  # [Pa] first guess for main and laterals together
ALLOWANCE_STEP = 25e3  # [Pa]
MOST_ALLOWANCES = 4
ZONING_GUARD = 300.0  # [s] the work is bounded by counts (20 s for 150 heads in 30 zones); for a very slow machine
PLACE_COST = 60.0  # [currency] box, gravel and fittings of one valve place in the zoning estimate; judgement
ZONE_COST = 60.0  # [currency] valve and wire of one zone in the same estimate; judgement


Serves = Callable[[PlaceOption, Head, BackflowDevice, Case], bool]


def may_serve_on_level(option: PlaceOption, head: Head, device: BackflowDevice, case: Case) -> bool:
    """Whether the device at a place can stand high enough over a head."""
    return may_serve(option, head, device=device, yard=case.yard)


def may_serve_over_ground(option: PlaceOption, head: Head, device: BackflowDevice, case: Case) -> bool:
    """The same, and over a pipe that runs straight from the place to the head."""
    if device.above_outlets is None or not may_serve_on_level(option, head, device, case):
        return device.above_outlets is None
    return _highest_pipe([(option.at, head.at)], case) + device.above_outlets <= option.highest_level


def _highest_pipe(paths: Iterable[Sequence[tuple[float, float]]], case: Case) -> float:
    """Highest level [m] of pipes along paths."""
    crest = max(float(case.ground.terrain.along(path).max()) for path in paths)
    return crest - case.yard.rules.trench_depth


@dataclass(frozen=True, slots=True)
class ZoneDraft:
    """One zone before hydraulics."""

    id: str
    heads: tuple[Head, ...]
    place: str
    safe_flow: float  # [m³/s]
    safe_binds: str


@dataclass(frozen=True, slots=True)
class Draft:
    """A system under one backflow kind; without pipework it cannot be built and the zoning's clashes say why."""

    kind: BackflowKind
    zoning: Zoning
    zones: tuple[ZoneDraft, ...] = ()
    places: tuple[ValvePlace, ...] = ()
    pipework: Pipework | None = None
    settled: Settled | None = None
    too_high: tuple[str, ...] = ()  # places whose device a lateral's crest lifts over the riser that the user accepts
    proofs: tuple[Proof, ...] = field(default=())

    @property
    def fits(self) -> bool:
        """Whether zones, routes and sizes all exist within the limits and leave every head its pressure."""
        works = self.pipework is not None and not self.pipework.trouble and not self.too_high
        return works and not self.zoning.clashes and self.settled is not None and not self.settled.short


def build_system(heads: tuple[Head, ...], zoned: Draft, *, case: Case, progress: Progress) -> Draft:
    """Route, size and solve the pipes of a zoned draft; zone anew with a larger allowance until that is stable.

    Stable: sizes exist, every head keeps its least pressure on the cautious supply, and on the expected supply every
    head's flow is within the yard's flow spread of the flow it was laid out for. When laterals cross ground too high
    for the devices before them, zones and places are chosen once more with that ground in mind.
    """
    if zoned.zoning.hard:
        return zoned
    progress("trenches and pipe sizes", 0.0)
    draft = _with_pipes(zoned, case)
    zone = partial(zone_system, heads, zoned.kind, case=case)
    if draft.too_high:
        zone = partial(zone, serves=may_serve_over_ground)
        again = zone()
        draft = draft if again.zoning.hard else _with_pipes(again, case)
    for attempt in range(1, MOST_ALLOWANCES):
        if not _unsettled(draft, case):
            break
        progress("zones anew, with more pressure left for pipes", attempt / MOST_ALLOWANCES)
        again = zone(pipes=PIPE_ALLOWANCE + attempt * ALLOWANCE_STEP)
        if again.zoning.hard:
            break
        draft = _with_pipes(again, case)
    return draft


def _with_pipes(draft: Draft, case: Case) -> Draft:
    members = {zone.id: zone.heads for zone in draft.zones}
    work = lay_pipes(members, draft.places, draft.kind, case=case)
    if work.unreachable:
        return replace(draft, pipework=work, proofs=(*draft.proofs, *work.proofs))
    places = tuple(_over_its_laterals(place, work, draft.kind, case) for place in draft.places)
    highest = case.yard.backflow.highest_riser
    return replace(
        draft,
        places=places,
        pipework=work,
        settled=ZoneSolver(members, places, work, case).settle(),
        too_high=tuple(place.id for place in places if (place.device_height or 0.0) > highest + 1e-6),
        proofs=(*draft.proofs, *work.proofs),
    )


def _over_its_laterals(place: ValvePlace, work: Pipework, kind: BackflowKind, case: Case) -> ValvePlace:
    """Raise a place's device where a lateral crosses ground higher than all its heads; zoning knew the heads alone."""
    paths = [pipe.path for pipe in work.pipes if pipe.zone in place.zones]
    return raised_over(place, _highest_pipe(paths, case), device=case.catalogue.backflow[kind])


def _unsettled(draft: Draft, case: Case) -> bool:
    """Whether another round, with smaller zones, could bring heads nearer to what they were laid out for."""
    if draft.pipework is None or draft.settled is None:
        return False
    return draft.pipework.short_of_pressure or not draft.settled.stable(case.yard.rules.flow_spread)


def zone_system(
    heads: tuple[Head, ...],
    kind: BackflowKind,
    *,
    case: Case,
    pipes: float = PIPE_ALLOWANCE,
    serves: Serves = may_serve_on_level,
) -> Draft:
    """Zones and valve places under a backflow kind.

    Parameters: pipes [Pa], allowed for main and laterals together; serves, says whether a place may serve a head.
    """
    device = case.catalogue.backflow[kind]
    options = place_options(case.ground, case.yard, heads=heads, device=device)
    serve = {o.id: frozenset(h.id for h in heads if serves(o, h, device, case)) for o in options}
    capacity = {head.id: case.limits.capacity(case.need(head, kind, pipes=pipes)) for head in heads}
    zoning = _zone(heads, options, serve, capacity, kind, case)
    zones, places = _name(zoning, options, {head.id: head for head in heads}, capacity, kind, case)
    return Draft(kind, zoning, zones, places, proofs=zoning.proofs)


def _zone(
    heads: tuple[Head, ...],
    options: tuple[PlaceOption, ...],
    serve: Mapping[str, frozenset[str]],
    capacity: Mapping[str, tuple[float, str]],
    kind: BackflowKind,
    case: Case,
) -> Zoning:
    yard, catalogue = case.yard, case.catalogue
    device = catalogue.backflow[kind]
    at_place = device.scope == "system" and device.above_outlets is not None
    price = catalogue.prices[kind].price if at_place and yard.backflow.owned != kind else 0.0
    loads = [
        HeadLoad(
            id=h.id,
            at=h.at,
            level=outlet_level(h, yard),
            flow=h.flow,
            capacity=capacity[h.id][0],
            group=f"{h.head_class}; {h.hydrozone}",
        )
        for h in heads
    ]
    problem = ZoneProblem(
        tuple(loads),
        options,
        serve,
        stations=yard.controller.stations,
        place_cost=PLACE_COST + price,
        zone_cost=ZONE_COST,
        trench_cost=catalogue.trenches["lawn"].per_metre or 0.0,
        clearance=device.above_outlets or 0.0,
        distance=TrenchWalk(case.ground, [*(o.at for o in options), *(h.at for h in heads)]),
    )
    return make_zones(problem, seed=case.seed, watch=Watch(deadline=time.monotonic() + ZONING_GUARD))


def _name(
    zoning: Zoning,
    options: tuple[PlaceOption, ...],
    by_id: Mapping[str, Head],
    capacity: Mapping[str, tuple[float, str]],
    kind: BackflowKind,
    case: Case,
) -> tuple[tuple[ZoneDraft, ...], tuple[ValvePlace, ...]]:
    """Name valve places V1.. by distance from the entry and zones Z1.. place by place."""
    yard, catalogue = case.yard, case.catalogue
    device = catalogue.backflow[kind]
    option = {o.id: o for o in options}
    used = sorted(zoning.places_used, key=lambda p: (option[p].entry_distance, p))
    groups: list[ZoneGroup] = [g for p in used for g in zoning.groups if g.place == p]
    names = {p: f"V{i}" for i, p in enumerate(used, start=1)}
    zones: list[ZoneDraft] = []
    for i, group in enumerate(groups, start=1):
        safe, binds = min((capacity[h] for h in group.heads), key=lambda pair: pair[0])
        members = tuple(by_id[h] for h in group.heads)
        zones.append(ZoneDraft(f"Z{i}", members, names[group.place], safe, binds))
    places: list[ValvePlace] = []
    for p in used:
        served = [zone for zone in zones if zone.place == names[p]]
        members = tuple(head for zone in served for head in zone.heads)
        places.append(
            ValvePlace(
                id=names[p],
                at=option[p].at,
                ground=option[p].ground,
                backflow=kind,
                device_height=device_height(option[p], members, device=device, yard=yard),
                highest_outlet=max(outlet_level(h, yard) for h in members),
                zones=tuple(zone.id for zone in served),
            )
        )
    return tuple(zones), tuple(places)
