"""Plan on from an earlier plan: its heads, zones and valve places stay where they can, so that little changes.

Heads stay as they are set on screen. Where a lawn's water then falls under the yard's limit of evenness, the heads near
those that were moved are laid out anew round the others. Zones and valve places stay when they still fit; else they are
chosen anew for the same heads. When the heads themselves cannot stay, there is nothing to go on from.
"""

import math
from collections.abc import Sequence
from concurrent.futures import Executor

from rillwright.jobs.assemble import assemble
from rillwright.jobs.build import build_system, with_pipes
from rillwright.jobs.case import QUICK_EFFORT, Case
from rillwright.jobs.layouts import Layouts, design_pressure
from rillwright.jobs.main_layout import close_main
from rillwright.jobs.matched import rate_bands
from rillwright.jobs.progress import Progress
from rillwright.jobs.search import cheapest_routes, fit_devices
from rillwright.jobs.verdict import judge
from rillwright.jobs.zoned import (
    PIPE_ALLOWANCE,
    Draft,
    ZoneRoom,
    drafted,
    may_serve_on_level,
    zone_room,
    zone_system,
)
from rillwright.model.catalogue import flow_at, radius_at
from rillwright.model.findings import Finding
from rillwright.model.pinned import held_head
from rillwright.model.plan import Head, Plan, Start, StartZone
from rillwright.model.site import PinnedHead, Pins
from rillwright.solvers.coverage import LawnLayout, evaluate_layout, hydrozones, lay_out_lawn
from rillwright.solvers.zoning import ZoneGroup, Zoning

__all__ = ["anew", "plan_on", "start_from"]

SAME = 0.06  # [m] a head that moved by less stands as before
NEAR = 1.2  # of a moved head's radius, within which heads may be laid out anew
GAIN = 0.01  # of DU that makes it worth while


def start_from(plan: Plan, heads: Sequence[Head]) -> Start | None:
    """What to go on from: a plan with its heads as they are set now; None for a plan without zones.

    Parameters: heads, all of the plan's, in its order.
    """
    if not plan.zones or plan.backflow is None:
        return None
    moved = [now.id for was, now in zip(plan.heads, heads, strict=True) if _setting(was) != _setting(now)]
    at = {place.id: place.at for place in plan.places}
    zones = tuple(StartZone(heads=zone.heads, place=at[zone.place]) for zone in plan.zones)
    return Start(backflow=plan.backflow, heads=tuple(heads), zones=zones, moved=tuple(moved))


def plan_on(case: Case, start: Start, *, progress: Progress, pool: Executor | None) -> Plan | None:
    """Go on from an earlier plan; None when its heads do not suit the yard as it now is, or nothing fits."""
    if start.backflow not in case.yard.backflow.allowed:
        return None
    progress("heads as they stand", 0.0)
    heads = _at_design(_pinned(start.heads, case), case)
    if heads is None:
        return None
    layouts = [_mended(lawn, heads, start, case) for lawn in case.ground.lawns]
    heads = tuple(head for layout in layouts for head in layout.heads)
    heads = tuple(sorted(heads, key=lambda head: (len(head.id), head.id)))
    draft, same = _drafted(heads, start, case, progress)
    if not draft.fits:
        return None
    chosen = Layouts(tuple(layouts), heads, ())
    plan = assemble(chosen, draft, case=case, pool=pool, progress=progress)
    plan = close_main(plan, chosen, draft, case=case, progress=progress, pool=pool)
    told = [*plan.findings, _told(start, plan, same)]
    return judge(plan.model_copy(update={"start": start}), told)


def anew(plan: Plan) -> Plan:
    """A plan that was to go on from an earlier one and could not, with a word about that."""
    told = Finding(
        rule="planned-anew",
        severity="know",
        where="yard",
        what="the earlier plan's heads no longer suit the yard, or nothing with them fits: planned from nothing",
        do="Lay both plans side by side to see what changed.",
    )
    return judge(plan, [*plan.findings, told])


def _setting(head: Head) -> tuple[tuple[float, float], float, float, float]:
    return head.at, head.arc_start, head.arc, head.radius_share


def _pinned(heads: Sequence[Head], case: Case) -> tuple[Head, ...] | None:
    """The heads with the yard's pins on them; None when a pin holds none of them or a lawn has none."""
    ground, found = case.ground, [head.model_copy(update={"pin": None}) for head in heads]
    for pin in case.yard.pins.heads:
        near = held_head(pin, found)
        if near is None:
            return None
        aim = {} if pin.arc is None or pin.arc_start is None else {"arc_start": pin.arc_start % 360, "arc": pin.arc}
        found[near] = found[near].model_copy(update={"at": pin.at, "pin": pin.id, **aim})
    if {head.lawn for head in found} != set(ground.lawns):
        return None
    allowed = {name: a.head_classes or case.yard.heads.allowed for a in case.yard.lawns for name in [a.id]}
    for lawn, drawn in ground.drawn.items():
        classes = {head.head_class for head in found if head.lawn == lawn}
        able = {kind for name in drawn for kind in allowed[name]} | {pin.head_class for pin in case.yard.pins.heads}
        if len(classes) > 1 or not classes <= able:
            return None
    for lawn in ground.lawns:
        own = [k for k, head in enumerate(found) if head.lawn == lawn]
        names = hydrozones([found[k].at for k in own], lawn_id=lawn, ground=ground, yard=case.yard)
        for k, name in zip(own, names, strict=True):
            update = {"hydrozone": name, "ground": ground.terrain.at(*found[k].at)}
            found[k] = found[k].model_copy(update=update)
    return tuple(found)


def _at_design(heads: Sequence[Head] | None, case: Case) -> tuple[Head, ...] | None:
    """The heads at the pressure that their class is laid out at; None when a chart is missing or an arc cannot be."""
    if heads is None or any(head.nozzle not in case.catalogue.nozzles for head in heads):
        return None
    out = []
    for head in heads:
        nozzle = case.catalogue.nozzles[head.nozzle]
        if nozzle.pattern == "sector" and not nozzle.can_throw(head.arc):
            return None
        pressure = design_pressure(head.head_class, case.catalogue, level=1.0)
        flow = flow_at(nozzle, pressure, head.arc, radius_share=head.radius_share)
        radius = radius_at(nozzle, pressure) * head.radius_share
        out.append(head.model_copy(update={"pressure": pressure, "flow": flow, "radius": radius}))
    return tuple(out)


def _measured(lawn: str, heads: Sequence[Head], case: Case) -> LawnLayout:
    return evaluate_layout(heads, lawn_id=lawn, ground=case.ground, yard=case.yard, catalogue=case.catalogue)


def _mended(lawn: str, heads: Sequence[Head], start: Start, case: Case) -> LawnLayout:
    """The lawn as it stands; where that is too uneven, with the heads near the moved ones laid out anew."""
    own = [head for head in heads if head.lawn == lawn]
    layout = _measured(lawn, own, case)
    assert layout.lawn is not None
    moved = [head for head in own if head.id in start.moved]
    if not moved or layout.lawn.evenness.du >= case.yard.rules.lowest_du:
        return layout
    free = {
        head.id
        for head in own
        if head.pin is None and any(math.dist(head.at, m.at) < NEAR * max(m.radius, head.radius) for m in moved)
    }
    kept = {head.pin or f"kept {head.id}": head for head in own if head.id not in free}
    pins = [_pin(name, head) for name, head in kept.items()]
    others = [pin for pin in case.yard.pins.heads if pin.id not in kept]
    yard = case.yard.model_copy(update={"pins": Pins(heads=[*pins, *others])})
    tried = lay_out_lawn(
        lawn,
        ground=case.ground,
        yard=yard,
        catalogue=case.catalogue,
        head_class=own[0].head_class,
        pressure=own[0].pressure,
        seed=case.seed,
        effort=QUICK_EFFORT,
    )
    if tried[0].lawn is None:
        return layout
    again = _measured(lawn, _named(tried[0].heads, kept, heads), case)
    better = again.lawn is not None and again.lawn.evenness.du > layout.lawn.evenness.du + GAIN
    return again if better else layout


def _pin(name: str, head: Head) -> PinnedHead:
    return PinnedHead(id=name, at=head.at, head_class=head.head_class, arc_start=head.arc_start, arc=head.arc)


def _named(laid: Sequence[Head], kept: dict[str, Head], all_heads: Sequence[Head]) -> list[Head]:
    """Heads laid out anew: those kept are as they were, the others have names that none had."""
    number = max(int(head.id.removeprefix("H")) for head in all_heads)
    out = []
    for head in laid:
        if head.pin in kept:
            out.append(kept[head.pin])
            continue
        number += 1
        out.append(head.model_copy(update={"id": f"H{number}"}))
    return out


def _drafted(heads: tuple[Head, ...], start: Start, case: Case, progress: Progress) -> tuple[Draft, bool]:
    """The heads in their zones with pipes; in zones made anew where the old ones no longer fit, and whether so."""
    progress("zones as they are", 0.5)
    bands = rate_bands(heads, case.catalogue)
    places = tuple(dict.fromkeys(zone.place for zone in start.zones))
    room = zone_room(
        heads, start.backflow, case=case, pipes=PIPE_ALLOWANCE, serves=may_serve_on_level, bands=bands, places=places
    )
    zoning = _zoning(room, start)
    if zoning is not None:
        draft = with_pipes(drafted(room, zoning, case), case)
        if draft.fits:
            return cheapest_routes(draft, case), True
    zoned = zone_system(heads, start.backflow, case=case)
    return fit_devices(build_system(heads, zoned, case=case, progress=progress), case), False


def _zoning(room: ZoneRoom, start: Start) -> Zoning | None:
    """The zones as they were, new heads in the nearest that suits; None when a zone no longer may be so."""
    loads = {load.id: load for load in room.problem.loads}
    members = [[head for head in zone.heads if head in loads] for zone in start.zones]
    home = {head for own in members for head in own}
    for name in sorted(set(loads) - home):
        alike = [own for own in members if own and loads[own[0]].group == loads[name].group]
        if not alike:
            return None
        min(alike, key=lambda own: min(math.dist(loads[h].at, loads[name].at) for h in own)).append(name)
    groups = []
    for zone, own in zip(start.zones, members, strict=True):
        if not own:
            continue
        able = [option for option in room.problem.options if room.problem.may_serve[option.id].issuperset(own)]
        place = min(able, key=lambda option: math.dist(option.at, zone.place), default=None)
        flow = sum(loads[head].flow for head in own)
        whole = all(held <= set(own) or held.isdisjoint(own) for held in room.together)
        one_group = len({loads[head].group for head in own}) == 1
        if place is None or flow > min(loads[head].capacity for head in own) or not whole or not one_group:
            return None
        groups.append(ZoneGroup(tuple(own), place.id))
    if len(groups) > room.problem.stations:
        return None
    return Zoning(tuple(groups), tuple(dict.fromkeys(group.place for group in groups)), 0.0, (), "feasible")


def _told(start: Start, plan: Plan, same: bool) -> Finding:
    was = {head.id: _setting(head)[0] for head in start.heads if head.id not in start.moved}
    stay = sum(head.id in was and math.dist(was[head.id], head.at) < SAME for head in plan.heads)
    zones = "its zones too" if same else "its zones no longer fitted and were made anew"
    return Finding(
        rule="planned-on",
        severity="know",
        where="yard",
        what=f"planned on from an earlier plan: {stay} of its {len(start.heads)} heads stand as before, {zones}; "
        "no other classes, layouts or zones were weighed",
        do="Plan from nothing to have the whole search.",
    )
