"""Where valves may stand: candidate spots, and the height rule of the backflow kind.

An atmospheric vacuum breaker stands after the zone valve, one for each zone, at the valve place itself; a pressure
vacuum breaker stands once at each valve place, before its valves. Both must stay above the highest outlet they serve,
so on a slope the rule decides which places may serve which heads. A reduced pressure zone assembly and a double check
stand at the water entry, and the valve places are then free.
Sources: ASSE 1001 (atmospheric: 6 in), ASSE 1020 (pressure: 12 in). Local code decides; a licensed person tests.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rillwright.model.findings import Finding
from rillwright.model.ground import Ground
from rillwright.model.parts import BackflowDevice
from rillwright.model.plan import Head, ValvePlace, Zone
from rillwright.model.site import Yard
from rillwright.physics.units import show
from rillwright.solvers.places.spots import candidate_spots, spread
from rillwright.solvers.places.trench_walk import TrenchWalk

__all__ = [
    "PlaceOption",
    "check_places",
    "device_height",
    "may_serve",
    "outlet_level",
    "place_options",
    "raised_over",
]

Point = tuple[float, float]

_OPTIONS = 60  # candidate places kept at most, on a yard
_HEADS_A_PLACE = 15  # on a large site: a candidate place for so many heads
_TOLERANCE = 1e-6  # [m] heights closer than this are equal


@dataclass(frozen=True, slots=True)
class PlaceOption:
    """A spot where a builder might set a valve box or manifold."""

    id: str
    at: Point  # [m]
    ground: float  # [m]
    entry_distance: float  # [m] trench from the water entry
    highest_level: float  # [m] greatest level of the device's critical line: ground and highest riser


def outlet_level(head: Head, yard: Yard) -> float:
    """Level [m] of a head's nozzle while it runs, on the datum of the spot heights."""
    return head.ground + yard.rules.popup_height


def may_serve(option: PlaceOption, head: Head, *, device: BackflowDevice, yard: Yard) -> bool:
    """Say whether the device at a place can stand high enough over one head.

    Sources: ASSE 1001, critical level at least 6 in over all outlets; ASSE 1020, 12 in. The device table holds them.
    """
    if device.above_outlets is None:
        return True
    if device.above_ground > yard.backflow.highest_riser + _TOLERANCE:
        return False
    return outlet_level(head, yard) + device.above_outlets <= option.highest_level + _TOLERANCE


def device_height(option: PlaceOption, heads: Iterable[Head], *, device: BackflowDevice, yard: Yard) -> float | None:
    """Height [m] over the ground at which the device must stand to serve the heads.

    None when the kind has no rule over outlets: then it stands at the water entry. With no heads: the least height
    over ground. The height may exceed the riser the user accepts; `may_serve` tells.
    """
    if device.above_outlets is None:
        return None
    needed = [outlet_level(head, yard) + device.above_outlets - option.ground for head in heads]
    return max([device.above_ground, *needed])


def raised_over(place: ValvePlace, crest: float, *, device: BackflowDevice) -> ValvePlace:
    """Raise the device at a place over the highest level [m] of the pipe after it, where its kind asks for that.

    The height may then exceed the riser the user accepts. Sources as for may_serve: outlets and piping alike.
    """
    if device.above_outlets is None or place.device_height is None or crest <= place.highest_outlet:
        return place
    height = max(place.device_height, crest + device.above_outlets - place.ground)
    return place.model_copy(update={"device_height": height, "highest_outlet": crest})


def place_options(
    ground: Ground, yard: Yard, *, heads: Sequence[Head], device: BackflowDevice, also: Sequence[Point] = ()
) -> tuple[PlaceOption, ...]:
    """Candidate valve places, nearest to the water entry first; at most 60, or one for every 15 heads.

    They lie along outside walls, beside the water entry, in beds, at lawn edges and on high ground, never in paving,
    water, keep-out ground, a building or a trunk. Where the device has a height rule, places that may serve no head
    are left out, unless none may serve any: then all stay, so that the clash can say how much is missing. Parameters:
    also, places [m] that are to be among them where valves may stand.
    """
    entry = yard.water_entry.at
    spots = candidate_spots(ground, yard, also)
    levels = ground.terrain.height([spot.at for spot in spots])
    reach = yard.backflow.highest_riser
    if device.above_outlets is not None and heads:
        least = min(outlet_level(head, yard) for head in heads) + device.above_outlets - reach - _TOLERANCE
        useful = [spot for spot, level in zip(spots, levels, strict=True) if level >= least]
        spots = useful or spots
    limit = max(_OPTIONS, len(heads) // _HEADS_A_PLACE)
    kept = spread(spots, limit=limit, ground=ground, heads=[head.at for head in heads])
    walk = TrenchWalk(ground, [entry, *kept])
    metres = dict(zip(kept, walk.table([entry], kept)[0].round(6).tolist(), strict=True))
    near_first = sorted(kept, key=lambda at: (metres[at], at))
    return tuple(
        PlaceOption(
            id=f"P{number}",
            at=at,
            ground=(level := ground.terrain.at(*at)),
            entry_distance=metres[at],
            highest_level=level + reach,
        )
        for number, at in enumerate(near_first, start=1)
    )


def check_places(
    places: Sequence[ValvePlace],
    heads: Sequence[Head],
    zones: Sequence[Zone],
    device: BackflowDevice,
    yard: Yard,
) -> list[Finding]:
    """Every break of the valve-place rules on a finished plan, worked out afresh from heads and heights."""
    by_id = {head.id: head for head in heads}
    served = {zone.id: [by_id[name] for name in zone.heads if name in by_id] for zone in zones}
    findings = _check_homes(places, zones)
    for place in places:
        names = [name for name in place.zones if name in served]
        findings += _check_kind(place, device)
        if device.above_outlets is not None:
            findings += _check_height(place, [head for name in names for head in served[name]], device, yard)
    return findings


def _must(rule: str, where: str, what: str, do: str, source: str = "common practice, no source") -> Finding:
    return Finding(rule=rule, severity="must", where=where, what=what, do=do, source=source)


def _check_homes(places: Sequence[ValvePlace], zones: Sequence[Zone]) -> list[Finding]:
    findings: list[Finding] = []
    for zone in zones:
        homes = [place.id for place in places if zone.id in place.zones]
        if homes != [zone.place]:
            found = ", ".join(homes) or "none"
            what = f"Zone says it stands at '{zone.place}', the places that list it are: {found}."
            do = "Give the zone one valve at one place; no second valve may follow a vacuum breaker of its own."
            findings.append(_must("place-of-zone", zone.id, what, do))
    known = {zone.id for zone in zones}
    for place in places:
        for name in (name for name in place.zones if name not in known):
            what = f"Place lists zone '{name}', which the plan does not hold."
            findings.append(_must("place-of-zone", place.id, what, "Plan the yard again."))
    return findings


def _check_kind(place: ValvePlace, device: BackflowDevice) -> list[Finding]:
    if place.backflow == device.kind:
        return []
    what = f"Place is built for a {place.backflow}, the plan's kind is {device.kind}."
    return [_must("place-backflow", place.id, what, "Use one backflow kind throughout.", device.source)]


def _check_height(place: ValvePlace, heads: list[Head], device: BackflowDevice, yard: Yard) -> list[Finding]:
    assert device.above_outlets is not None
    rule, units = "backflow-height", yard.units

    def say(value: float) -> str:
        return show(value, "length", units)

    if place.device_height is None:
        what = f"A {device.kind} belongs at this place, and none stands here."
        return [_must(rule, place.id, what, "Set the device at the valve place.", device.source)]
    findings: list[Finding] = []
    height, riser = place.device_height, yard.backflow.highest_riser
    if heads:
        top = max(heads, key=lambda head: (outlet_level(head, yard), head.id))
        short = outlet_level(top, yard) + device.above_outlets - (place.ground + height)
        if short > _TOLERANCE:
            what = (
                f"Device stands {say(height)} over the ground, {show(short, 'bore', units)} too low for head {top.id}, "
                f"which it must clear by {show(device.above_outlets, 'bore', units)}."
            )
            do = f"Raise the device by {show(short, 'bore', units)}, or serve {top.id} from higher ground."
            findings.append(_must(rule, place.id, what, do, device.source))
    if height < device.above_ground - _TOLERANCE:
        what = f"Device stands {say(height)} over the ground, the least is {say(device.above_ground)}."
        findings.append(_must(rule, place.id, what, "Raise the device.", device.source))
    if height > riser + _TOLERANCE:
        what = f"Device would stand {say(height)} over the ground; you accept {say(riser)} at most."
        do = "Serve these heads from higher ground, or accept a higher riser."
        findings.append(_must("riser-height", place.id, what, do))
    return findings
