"""Steps that the water runs through: supply, main, valves, wire, and zone by zone."""

from collections.abc import Iterator

from shapely.geometry import Point

from rillwright.model.guide import Item, Step
from rillwright.model.plan import Head, Plan, ValvePlace, Zone
from rillwright.model.regulation import FALL_OFF
from rillwright.solvers.guide.keys import group, head_key, point
from rillwright.solvers.guide.materials import FITTINGS
from rillwright.solvers.guide.nets import MAIN
from rillwright.solvers.guide.site import GLUED, Site, named

__all__ = ["supply_steps", "zone_steps"]

AT_WALL = 0.5  # [m] an entry this near to a building is taken to come through its wall
TEST_TIME = 15  # [min] IPC 312.5, UPC 609.4, from memory
JOB = ("job", "")
DELIVERED = ("parts", "delivery")


def supply_steps(site: Site) -> Iterator[Step]:
    """From the house supply to the valves: wall, joint, main, valves, backflow protection, wire, test."""
    yield from _house_steps(site)
    yield site.step(
        "main",
        items=site.pipe_items(MAIN),
        quantities={
            ("metre", ""): site.metres(MAIN),
            ("fitting", ""): site.materials.number("main", *FITTINGS),
        },
        after=[DELIVERED, *site.digs_under(MAIN)],
        cautions=site.cautions_of(site.nets.pipes[MAIN]),
        name=f"({site.shown(site.metres(MAIN))})",
    )
    for place in site.plan.places:
        yield _valves(site, place)
    yield from _backflow(site)
    yield from _wire_and_test(site)


def zone_steps(site: Site) -> Iterator[Step]:
    """Laterals, flush, heads: zone by zone."""
    for zone in site.plan.zones:
        pipes = site.nets.pipes[zone.id]
        glued = any(pipe.material.startswith(GLUED) for pipe in pipes)
        yield site.step(
            "lay",
            zone.id,
            items=site.pipe_items(zone.id),
            quantities={
                ("metre", ""): site.metres(zone.id),
                ("fitting", ""): site.materials.number(f"lay:{zone.id}", *FITTINGS),
            },
            after=[f"valves:{zone.place}", *site.digs_under(zone.id)],
            cautions=site.cautions_of(pipes),
        )
        yield _flush(site, zone, glued)
        heads = site.heads_of(zone.id)
        if heads:
            yield site.step(
                "heads",
                zone.id,
                items=[_head_item(site, head) for head in heads],
                quantities={("head", ""): len(heads)},
                after=[f"flush:{zone.id}"],
            )


def _house_steps(site: Site) -> Iterator[Step]:
    entry = site.plan.yard.water_entry
    wall = site.ground.kinds["building"].distance(Point(entry.at)) <= AT_WALL
    if wall:
        yield site.step(
            "wall",
            items=[Item(key="wall", words="Pipe passes the house wall in a sleeve, sealed", at=entry.at, name="entry")],
            quantities={JOB: 1},
            after=[DELIVERED],
            assumed=[
                "The pipe is assumed to pass the house wall at the water entry.",
                "The wall is assumed to be masonry; the yard does not say.",
            ],
        )
    copper = entry.pipe.material.startswith("copper")
    powered = entry.booster is not None or entry.well is not None
    yield site.step(
        "shut",
        items=[Item(key="shut", words="House water shut off and drained")],
        quantities={JOB: 1},
        after=["wall", DELIVERED],
        cautions=["line voltage"] if powered else [],
        assumed=["The house is assumed to have a shut-off that closes tight."],
    )
    yield site.step(
        "join",
        items=[Item(key="joined", words="Main joined to the house supply, with its own shut-off")],
        quantities={JOB: 1},
        after=["shut"],
        cautions=[*(["torch"] if copper else []), *(["line voltage"] if powered else [])],
        before=[] if wall else ["the joint stands outside: it can be drained before frost"],
        assumed=[] if wall else ["The water entry stands away from every building: no wall is passed."],
    )


def _valves(site: Site, place: ValvePlace) -> Step:
    apart = site.materials.number("backflow", str(site.plan.backflow)) > 0
    height = "" if place.device_height is None else f", critical level {site.shown(place.device_height)} over ground"
    boxes = 0 if place.id in site.kept else site.materials.number(f"valves:{place.id}", "valve box")
    glued = site.glued_risers and not apart
    mains = [pipe for pipe in site.nets.pipes[MAIN] if place.id in (pipe.start, pipe.end)]
    return site.step(
        "valves",
        place.id,
        items=[
            Item(
                key=f"place:{point(place.at)}",
                words=f"{place.id}: valves of {', '.join(place.zones)}",
                note=place.backflow + height,
                at=place.at,
                name=place.id,
            )
        ],
        quantities={("valve", ""): len(place.zones), ("box", ""): boxes},
        after=[DELIVERED, "main"],
        cautions=[
            *(["glue"] if glued else []),
            *site.cautions_of(mains),
            *([] if apart else ["drinking water"]),
        ],
        name=f"{place.id} for {', '.join(place.zones)}",
    )


def _backflow(site: Site) -> Iterator[Step]:
    kind = str(site.plan.backflow)
    devices = site.materials.number("backflow", kind)
    if devices:
        yield site.step(
            "backflow",
            items=[
                Item(key=f"backflow:{n + 1}" if n else "backflow", words=f"{kind} set, plumb and at its height")
                for n in range(devices)
            ],
            quantities={("device", ""): devices},
            after=[DELIVERED, "main", "join"],
            cautions=["glue"] if site.glued_risers else [],
        )


def _wire_and_test(site: Site) -> Iterator[Step]:
    plan = site.plan
    mains = sum(pipe.length for pipe in site.nets.pipes[MAIN])
    lead = "" if plan.yard.controller.at else "The yard names no place for the controller: by the water entry."
    yield site.step(
        "wire",
        items=[Item(key="wire", words=f"Wire laid beside the main; {named(2 * len(plan.zones), 'splice')} made")],
        quantities={("metre", ""): mains, ("splice", ""): site.materials.number("wire", "splice")},
        after=["main", *site.steps_of("valves")],
    )
    yield site.step(
        "controller",
        items=[
            Item(key="controller", words=f"Controller set: {named(len(plan.zones), 'station')}"),
            *(_wired(site, zone) for zone in plan.zones),
        ],
        quantities={JOB: 1, ("station", ""): len(plan.zones)},
        after=[DELIVERED, "wire"],
        assumed=[lead] if lead else [],
    )
    standing = site.shown(_standing(plan), "pressure")
    glued = site.glued_risers or any(pipe.material.startswith(GLUED) for pipe in site.nets.pipes[MAIN])
    cure = "cure" if glued else ""
    yield site.step(
        "test",
        items=[Item(key="main-flushed", words="Main flushed, then kept under pressure and looked over for leaks")],
        quantities={JOB: 1},
        after=[("main", cure), ("join", cure), *((step, cure) for step in site.steps_of("valves")), ("backflow", cure)],
        ends=f"the gauge holds what the supply gives (about {standing}) for {TEST_TIME} min and no joint is wet",
    )
    if site.nets.under(MAIN):
        yield site.step(
            "see",
            items=[Item(key="seen", words="Open work seen by the inspector where the permit asks for it")],
            quantities={JOB: 1},
            after=[("test", "inspector")],
        )


def _standing(plan: Plan) -> float:
    """Pressure [Pa] in the main with nothing running, at the entry."""
    well, regulation = plan.yard.water_entry.well, plan.regulation
    if well is not None:
        return well.cut_out
    if regulation is not None and regulation.lets_through is not None:
        return regulation.lets_through + FALL_OFF
    return plan.supply.expected.static


def _flush(site: Site, zone: Zone, glued: bool) -> Step:
    flushing = site.plan.flushing
    openings = [step for step in flushing.steps if step.line == zone.id] if flushing else []
    own = group([head_key(head) for head in site.plan.heads if head.id in zone.heads])
    order = "; then ".join(", ".join(step.ends) for step in openings)
    return site.step(
        "flush",
        zone.id,
        items=[
            Item(
                key=f"flushed:{own}",
                words=f"{zone.id} flushed before its heads go on",
                note=f"open {order}" if order else "",
            ),
            Item(key=f"tight:{own}", words=f"Joints of {zone.id} dry under pressure, risers capped"),
        ],
        quantities={JOB: 1, ("opening", ""): max(len(openings), 1)},
        after=[(f"lay:{zone.id}", "cure" if glued else ""), "test"],
        ends="water runs clear at every opening; capped and under pressure, no joint is wet",
    )


def _wired(site: Site, zone: Zone) -> Item:
    own = group([head_key(head) for head in site.plan.heads if head.id in zone.heads])
    return Item(key=f"wired:{own}", words=f"Valve of {zone.id} wired to station {zone.station}")


def _head_item(site: Site, head: Head) -> Item:
    kind = "" if head.nozzle.startswith(head.head_class) else f"{head.head_class}, "
    return Item(
        key=head_key(head),
        words=f"{head.id}: {kind}{head.nozzle}",
        note=f"arc {head.arc:.0f}°, throw {site.shown(head.radius)}",
        at=head.at,
        name=head.id,
    )
