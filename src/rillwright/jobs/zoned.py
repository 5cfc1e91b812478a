"""Zones and valve places of a yard under one backflow kind, from heads that are laid out; before any pipe."""

import math
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from functools import partial
from types import MappingProxyType

from rillwright.jobs.case import QUICK_EFFORT, Case
from rillwright.jobs.held_zones import held_together, joined, parted
from rillwright.jobs.matched import rate_bands
from rillwright.jobs.pipework import Pipework
from rillwright.jobs.progress import Progress, silent
from rillwright.jobs.settle import Settled
from rillwright.jobs.workers import run_all
from rillwright.model.findings import Proof
from rillwright.model.parts import BackflowDevice
from rillwright.model.plan import Head, LeastCost, Point, SearchStep, ValvePlace
from rillwright.model.site import BackflowKind, DeviceSize
from rillwright.physics.losses import darcy_pressure_loss
from rillwright.physics.water import density, viscosity
from rillwright.solvers.places import PlaceOption, device_height, may_serve, outlet_level, place_options
from rillwright.solvers.places.trench_walk import TrenchWalk
from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning import HeadLoad, ZoneGroup, ZoneProblem, Zoning, make_zonings, with_bound

__all__ = [
    "ANNEALED",
    "PIPE_ALLOWANCE",
    "Draft",
    "ZoneDraft",
    "ZoneRoom",
    "bounded",
    "drafted",
    "highest_pipe",
    "may_serve_on_level",
    "may_serve_over_ground",
    "places_offered",
    "safe_on_pipes",
    "zone_capacities",
    "zone_effort",
    "zone_room",
    "zone_system",
]

PIPE_ALLOWANCE = 20e3  # [Pa] first guess for main and laterals together
ANNEALED = 240  # heads up to which zones are annealed
ZONING_GUARD = 300.0  # [s] the work is bounded by counts (20 s for 150 heads in 30 zones); for a very slow machine
ZONINGS = 4  # made for each backflow kind, to be compared by their routes
DETOUR = 2.0  # straight ways that the pipe to a head counts for; half the far heads of a 50 ha campus need 2.1
PLACES = 6  # least number that valves may move to: each makes the routing graph coarser elsewhere
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
    return highest_pipe([(option.at, head.at)], case) + device.above_outlets <= option.highest_level


def highest_pipe(paths: Iterable[Sequence[tuple[float, float]]], case: Case) -> float:
    """Highest level [m] of pipes along paths."""
    crest = max(float(case.ground.terrain.along(path).max()) for path in paths)
    return crest - case.yard.rules.trench_depth


@dataclass(frozen=True, slots=True)
class ZoneRoom:
    """What zones may be made of under one backflow kind: heads, places, and the limits on both."""

    kind: BackflowKind
    heads: tuple[Head, ...]
    capacity: Mapping[str, tuple[float, str]]  # by head: largest flow [m³/s] of a zone that holds it, and what binds
    problem: ZoneProblem
    together: tuple[frozenset[str], ...] = ()  # heads that must share a zone


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
    room: ZoneRoom
    spare: tuple[Zoning, ...] = ()  # other zonings that are nearly as cheap by the estimate
    zones: tuple[ZoneDraft, ...] = ()
    places: tuple[ValvePlace, ...] = ()
    pipework: Pipework | None = None
    settled: Settled | None = None
    too_high: tuple[str, ...] = ()  # places whose device a lateral's crest lifts over the riser that the user accepts
    proofs: tuple[Proof, ...] = field(default=())
    search: tuple[SearchStep, ...] = ()
    least: tuple[LeastCost, ...] = ()
    cut_short: bool = False  # somebody stopped the search

    @property
    def fits(self) -> bool:
        """Whether zones, routes and sizes all exist within the limits and leave every head its pressure."""
        works = self.pipework is not None and not self.pipework.trouble and not self.too_high
        return works and not self.zoning.clashes and self.settled is not None and not self.settled.short


def zone_system(
    heads: tuple[Head, ...],
    kind: BackflowKind,
    *,
    case: Case,
    pipes: float = PIPE_ALLOWANCE,
    far: Mapping[str, float] = MappingProxyType({}),
    serves: Serves = may_serve_on_level,
    progress: Progress = silent,
    pool: Executor | None = None,
    prove: bool = True,
) -> Draft:
    """Zones and valve places under a backflow kind, with spare zonings; parameters as for zone_room.

    Lawns whose rates do not match share no zone, unless the controller has too few stations for that alone.
    Parameters: prove, whether that no fewer zones would do is to be proven.
    """
    bands = rate_bands(heads, case.catalogue)
    room = partial(zone_room, heads, kind, case=case, pipes=pipes, far=far, serves=serves)
    draft = _zoned(room(bands=bands), case, progress, pool, prove=prove)
    if draft.zoning.clashes and max(bands.values(), default=1) > 1:
        mixed = _zoned(room(bands={}), case, progress, pool, prove=prove)
        return draft if mixed.zoning.clashes else mixed
    return draft


def _zoned(room: ZoneRoom, case: Case, progress: Progress, pool: Executor | None, *, prove: bool) -> Draft:
    watch = Watch(
        deadline=time.monotonic() + ZONING_GUARD,
        tell=lambda _, share: progress("zones and valve places under each backflow kind", share),
    )
    problem, effort = joined(room.problem, room.together), zone_effort(len(room.heads), case)
    spread = partial(run_all, pool)
    zonings = make_zonings(
        problem, most=ZONINGS, effort=effort, seed=case.seed, watch=watch, spread=spread, prove=prove
    )
    first, *others = (parted(zoning, room.together) for zoning in zonings)
    return replace(drafted(room, first, case), spare=tuple(others))


def safe_on_pipes(
    zone: ZoneDraft, settled: Settled, kind: BackflowKind, case: Case, *, size: DeviceSize | None
) -> ZoneDraft:
    """The zone with what it may draw by its pipes as they are: its worst head's need at the entry.

    A zone that keeps its pressures on the cautious supply may draw what it draws, whatever the estimate.
    Parameters: size of the backflow device, as for zone_devices.
    """
    poor = settled.cautious[zone.id]
    pipes = sum(step.pressure for step in poor.steps if step.label.startswith(("main ", "lateral ", "riser ")))
    worst = next(head for head in zone.heads if head.id == poor.worst_head)
    safe, binds = case.limits.capacity(case.need(worst, kind, pipes=max(pipes, 0.0), size=size))
    safe = safe if zone.id in settled.short else max(safe, sum(head.flow for head in zone.heads))
    return replace(zone, safe_flow=safe, safe_binds=binds)


def zone_effort(heads: int, case: Case) -> float:
    """Effort of zoning: full for a plan to be built, none for comparing ways out and on the largest yards."""
    return 1.0 if case.effort > QUICK_EFFORT and heads <= ANNEALED else 0.0


def bounded(room: ZoneRoom, zoning: Zoning, *, case: Case) -> Zoning:
    """A zoning of a room with a bound under its cost."""
    watch = Watch(deadline=time.monotonic() + ZONING_GUARD)
    effort = zone_effort(len(room.heads), case)
    return with_bound(joined(room.problem, room.together), zoning, effort=effort, watch=watch)


def places_offered(draft: Draft, others: Sequence[Draft], case: Case) -> dict[str, Point]:
    """Valve places [m] beside those of a draft that valves may move to.

    They are those of spare zonings and of drafts under other kinds, those in the ground or where a held main ends, and
    those nearest to each zone's heads, to all heads and to the entry.
    """
    found: dict[Point, str] = {}
    for one in (draft, *others):
        at = {option.id: option.at for option in one.room.problem.options}
        zonings = one.spare if one is draft else (one.zoning, *one.spare)
        found |= {at[g.place]: f"{one.kind} {g.place}" for zoning in zonings for g in zoning.groups}
    options = {option.id: option for option in draft.room.problem.options}
    ground = [place.at for place in case.yard.existing.places]
    ground += [pin.path[end] for pin in case.yard.pins.pipes if pin.role == "main" for end in (0, -1)]
    more = [name for name, option in options.items() if option.at in ground]
    for heads in (*(zone.heads for zone in draft.zones), draft.room.heads):
        lawful = [n for n in options if draft.room.problem.may_serve[n].issuperset(h.id for h in heads)]
        far = {name: sum(math.dist(options[name].at, head.at) for head in heads) for name in lawful}
        near = {name: min(math.dist(options[name].at, head.at) for head in heads) for name in lawful}
        more += [min(lawful, key=lambda name: (by[name], name)) for by in (near, far) if lawful]
    for name in more:
        found.setdefault(options[name].at, f"{draft.kind} {name}")
    used = {place.at for place in draft.places}
    for name, option in options.items():
        if len(found.keys() - used) >= PLACES:
            break
        found.setdefault(option.at, f"{draft.kind} {name}")
    return {name: at for at, name in found.items() if at not in used}


def zone_room(
    heads: tuple[Head, ...],
    kind: BackflowKind,
    *,
    case: Case,
    pipes: float,
    serves: Serves,
    bands: Mapping[str, int],
    places: Sequence[Point] = (),
    far: Mapping[str, float] = MappingProxyType({}),
) -> ZoneRoom:
    """Set up the choice of zones and places.

    Parameters: pipes [Pa], allowed for main and laterals together; serves, says whether a place may serve a head;
    bands, numbers by lawn: lawns of different numbers share no zone; places [m] that are to be on offer; far
    [Pa/(m³/s)²], by head what the pipes to it take at least, where that is known.
    """
    yard, catalogue = case.yard, case.catalogue
    device = catalogue.backflow[kind]
    options = place_options(case.ground, yard, heads=heads, device=device, also=places)
    capacity = zone_capacities(heads, kind, case=case, pipes=pipes, far=far)
    at_place = device.scope == "system" and device.above_outlets is not None
    guard = catalogue.prices[device.for_line(yard.backflow_line).part].price
    price = guard if at_place and yard.backflow.owned != kind else 0.0
    problem = ZoneProblem(
        tuple(_load(head, capacity[head.id][0], bands.get(head.lawn, 1), case) for head in heads),
        options,
        _served(options, heads, device, case, serves),
        stations=yard.controller.stations,
        place_cost=PLACE_COST + price,
        zone_cost=ZONE_COST,
        trench_cost=catalogue.trenches["lawn"].per_metre or 0.0,
        clearance=device.above_outlets or 0.0,
        distance=TrenchWalk(case.ground, [*(o.at for o in options), *(h.at for h in heads)]),
    )
    return ZoneRoom(kind, heads, capacity, problem, held_together(heads, yard))


def zone_capacities(
    heads: Sequence[Head], kind: BackflowKind, *, case: Case, pipes: float, far: Mapping[str, float]
) -> dict[str, tuple[float, str]]:
    """By head the largest flow [m³/s] of a zone that holds it, and what binds; parameters as for zone_room."""
    metre, entry = DETOUR * _widest(case), case.yard.water_entry.at
    ways = {head.id: max(metre * math.dist(head.at, entry), far.get(head.id, 0.0)) for head in heads}
    needs = {head.id: case.need(head, kind, pipes=pipes, far=ways[head.id]) for head in heads}
    return {name: case.limits.capacity(need) for name, need in needs.items()}


def _widest(case: Case) -> float:
    """What a metre of the widest pipe takes [Pa/(m³/s)²/m] when a zone draws the most that it may; 0 for no water."""
    materials, warm = {*case.yard.pipes.main, *case.yard.pipes.laterals}, case.yard.water_entry.temperature
    pipe = max((p for p in case.catalogue.pipes if p.material in materials), key=lambda p: p.inside_diameter)
    bore, rho = pipe.inside_diameter, density(warm)
    flow = min(limit.flow for limit in case.limits.others)
    if flow == 0:
        return 0.0
    lost = darcy_pressure_loss(
        flow, inside_diameter=bore, length=1.0, roughness=pipe.roughness, density=rho, viscosity=viscosity(warm)
    )
    return lost / flow**2


def _served(
    options: Sequence[PlaceOption], heads: Sequence[Head], device: BackflowDevice, case: Case, serves: Serves
) -> dict[str, frozenset[str]]:
    """The heads that each place may serve; all of them where the device has no rule of height."""
    if device.above_outlets is None:
        return dict.fromkeys((option.id for option in options), frozenset(head.id for head in heads))
    return {o.id: frozenset(h.id for h in heads if serves(o, h, device, case)) for o in options}


def _load(head: Head, capacity: float, band: int, case: Case) -> HeadLoad:
    level, group = outlet_level(head, case.yard), f"{head.head_class}; {head.hydrozone}; rates {band}"
    return HeadLoad(id=head.id, at=head.at, level=level, flow=head.flow, capacity=capacity, group=group)


def drafted(room: ZoneRoom, zoning: Zoning, case: Case) -> Draft:
    """Write a zoning as zones and places."""
    zones, places = _name(zoning, room, case)
    return Draft(room.kind, zoning, room, zones=zones, places=places, proofs=zoning.proofs)


def _name(zoning: Zoning, room: ZoneRoom, case: Case) -> tuple[tuple[ZoneDraft, ...], tuple[ValvePlace, ...]]:
    """Name valve places V1.. by distance from the entry and zones Z1.. place by place."""
    yard, device = case.yard, case.catalogue.backflow[room.kind]
    by_id = {head.id: head for head in room.heads}
    option = {o.id: o for o in room.problem.options}
    used = sorted(zoning.places_used, key=lambda p: (option[p].entry_distance, p))
    groups: list[ZoneGroup] = [g for p in used for g in zoning.groups if g.place == p]
    names = {p: f"V{i}" for i, p in enumerate(used, start=1)}
    zones: list[ZoneDraft] = []
    for i, group in enumerate(groups, start=1):
        safe, binds = min((room.capacity[h] for h in group.heads), key=lambda pair: pair[0])
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
                backflow=room.kind,
                device_height=device_height(option[p], members, device=device, yard=yard),
                highest_outlet=max(outlet_level(h, yard) for h in members),
                zones=tuple(zone.id for zone in served),
            )
        )
    return tuple(zones), tuple(places)
