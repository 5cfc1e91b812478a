"""From heads to a buildable system under one backflow kind: zones, valve places, trenches, pipes, hydraulics.

The stages feed one another: pipe losses decide how much a zone may draw, and the zones decide the pipes. The loop
starts from a small allowance for pipe losses and raises it until sizes exist that leave every head its pressure.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial

from rillwright.jobs.pipework import Pipework, lay_pipes
from rillwright.jobs.progress import Progress
from rillwright.model.findings import Proof
from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, SupplyCurve, SupplyLimit, ValvePlace
from rillwright.model.site import BackflowKind, Yard
from rillwright.solvers.capacity import PressureNeed, curve_capacity
from rillwright.solvers.devices import zone_devices
from rillwright.solvers.places import PlaceOption, device_height, may_serve, outlet_level, place_options
from rillwright.solvers.supply import SupplyFit, cautious_curve, expected_curve, safe_flow
from rillwright.solvers.zoning import HeadLoad, ZoneGroup, Zoning, make_zones

__all__ = ["Draft", "Limits", "ZoneDraft", "build_system", "head_need", "zone_system"]

PIPE_ALLOWANCE = 20e3  # [Pa] first guess for main and laterals together
ALLOWANCE_STEP = 25e3  # [Pa]
MOST_ALLOWANCES = 4
PLACE_COST = 60.0  # [currency] box, gravel and fittings of one valve place in the zoning estimate; judgement
ZONE_COST = 60.0  # [currency] valve and wire of one zone in the same estimate; judgement


@dataclass(frozen=True, slots=True)
class Limits:
    """Supply curves and the flow limits that do not depend on pressure."""

    cautious: SupplyCurve
    expected: SupplyCurve
    others: tuple[SupplyLimit, ...]  # velocity, meter
    reserve: float  # [m³/s] held back for the house

    @classmethod
    def of(cls, fit: SupplyFit, *, yard: Yard, catalogue: Catalogue) -> "Limits":
        """Read the limits off a fitted supply."""
        found = safe_flow(fit, pressure=0.0, yard=yard, catalogue=catalogue)
        return cls(
            cautious=cautious_curve(fit, yard.rules.supply_certainty),
            expected=expected_curve(fit),
            others=tuple(limit for limit in found.limits if limit.name != "curve"),
            reserve=yard.rules.house_reserve,
        )

    def capacity(self, need: PressureNeed) -> tuple[float, str]:
        """Largest zone flow [m³/s] for a need, and the name of the limit that sets it."""
        curve = curve_capacity(need, supply=self.cautious)
        named = [("curve", curve), *((limit.name, limit.flow) for limit in self.others)]
        name, flow = min(named, key=lambda pair: pair[1])
        return max(0.0, flow - self.reserve), name


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
    proofs: tuple[Proof, ...] = field(default=())

    @property
    def fits(self) -> bool:
        """Whether zones, routes and sizes all exist within the limits."""
        return not self.zoning.clashes and self.pipework is not None and not self.pipework.trouble


def head_need(head: Head, *, kind: BackflowKind, yard: Yard, catalogue: Catalogue, pipes: float) -> PressureNeed:
    """Entry pressure that a head needs under a backflow kind, with an allowance for pipes [Pa]."""
    devices = zone_devices(kind, yard=yard, catalogue=catalogue, flow=6e-4)
    rise = outlet_level(head, yard) - yard.water_entry.height
    return PressureNeed(head.pressure, rise, tuple(d.loss for d in devices), pipes)


def build_system(
    heads: tuple[Head, ...],
    kind: BackflowKind,
    *,
    yard: Yard,
    ground: Ground,
    catalogue: Catalogue,
    limits: Limits,
    seed: int,
    progress: Progress,
    zoned: Draft | None = None,
) -> Draft:
    """Zone, place, route and size. Parameters: zoned, what zone_system gave for the same input, to start from."""
    draft = zoned
    for attempt in range(MOST_ALLOWANCES):
        if draft is None:
            progress("zones and valve places", attempt / MOST_ALLOWANCES)
            allowance = PIPE_ALLOWANCE + attempt * ALLOWANCE_STEP
            draft = zone_system(
                heads, kind, yard=yard, ground=ground, catalogue=catalogue, limits=limits, seed=seed, pipes=allowance
            )
        if any(clash.kind != "stations" for clash in draft.zoning.clashes):
            return draft
        progress("trenches and pipe sizes", attempt / MOST_ALLOWANCES)
        members = {zone.id: zone.heads for zone in draft.zones}
        work = lay_pipes(
            members,
            draft.places,
            kind,
            yard=yard,
            ground=ground,
            catalogue=catalogue,
            supply=limits.cautious,
            seed=seed,
        )
        built = replace(draft, pipework=work, proofs=(*draft.proofs, *work.proofs))
        if not work.short_of_pressure:
            break
        draft = None
    return built


def zone_system(
    heads: tuple[Head, ...],
    kind: BackflowKind,
    *,
    yard: Yard,
    ground: Ground,
    catalogue: Catalogue,
    limits: Limits,
    seed: int,
    pipes: float = PIPE_ALLOWANCE,
) -> Draft:
    """Zones and valve places alone. Parameters: pipes [Pa], allowed for main and laterals together."""
    device = catalogue.backflow[kind]
    options = place_options(ground, yard, heads=heads, device=device)
    serve = {o.id: frozenset(h.id for h in heads if may_serve(o, h, device=device, yard=yard)) for o in options}
    need = partial(head_need, kind=kind, yard=yard, catalogue=catalogue, pipes=pipes)
    capacity = {head.id: limits.capacity(need(head)) for head in heads}
    zoning = _zone(heads, options, serve, capacity, kind, yard=yard, catalogue=catalogue, seed=seed)
    by_id = {head.id: head for head in heads}
    zones, places = _name(zoning, options, by_id, capacity, kind, yard=yard, catalogue=catalogue)
    return Draft(kind, zoning, zones, places, None, zoning.proofs)


def _zone(
    heads: tuple[Head, ...],
    options: tuple[PlaceOption, ...],
    serve: Mapping[str, frozenset[str]],
    capacity: Mapping[str, tuple[float, str]],
    kind: BackflowKind,
    *,
    yard: Yard,
    catalogue: Catalogue,
    seed: int,
) -> Zoning:
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
    return make_zones(
        loads,
        options,
        may_serve=serve,
        stations=yard.controller.stations,
        place_cost=PLACE_COST + price,
        zone_cost=ZONE_COST,
        trench_cost=catalogue.trenches["lawn"].per_metre or 0.0,
        clearance=device.above_outlets or 0.0,
        seed=seed,
    )


def _name(
    zoning: Zoning,
    options: tuple[PlaceOption, ...],
    by_id: Mapping[str, Head],
    capacity: Mapping[str, tuple[float, str]],
    kind: BackflowKind,
    *,
    yard: Yard,
    catalogue: Catalogue,
) -> tuple[tuple[ZoneDraft, ...], tuple[ValvePlace, ...]]:
    """Name valve places V1.. by distance from the entry and zones Z1.. place by place."""
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
