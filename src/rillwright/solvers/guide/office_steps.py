"""Steps before anything is dug, and after everything is."""

from collections.abc import Iterator

from rillwright.model.guide import Item, Step
from rillwright.model.plan import Zone
from rillwright.solvers.guide.keys import group, head_key
from rillwright.solvers.guide.site import Site, named

__all__ = ["closing_steps", "first_steps"]

LINES_ASSUMED = 2  # buried lines that trenches cross; judgement
JOB = ("job", "")


def first_steps(site: Site) -> Iterator[Step]:
    """Office, flags, location of services, parts, and the marked lines laid open."""
    plan = site.plan
    yield site.step(
        "permit",
        items=[Item(key="allowed", words="Local office asked: permit, backflow protection, watering hours")],
        quantities={JOB: 1},
    )
    yield _layout(site)
    colours = "; ".join(f"{colour}: {what}" for colour, what in site.labour.marks.items())
    yield site.step(
        "locate",
        items=[Item(key="located", words="Buried services located and marked", note=colours)],
        quantities={JOB: 1},
        after=["layout"],
    )
    yield site.step(
        "parts",
        items=[Item(key="parts", words=f"Parts in hand: {named(len(plan.parts), 'line')} of the parts list")],
        quantities={JOB: 1},
        after=[("permit", "answer")],
    )
    yield site.step(
        "expose",
        items=[Item(key="exposed", words="Marked lines laid open by hand where trenches cross them")],
        quantities={("line", ""): LINES_ASSUMED},
        after=[("locate", "marking"), ("permit", "answer")],
        assumed=[f"The yard does not say what is buried: {LINES_ASSUMED} crossings are allowed for."],
    )


def closing_steps(site: Site) -> Iterator[Step]:
    """Tuning, tests by others, and the record."""
    yield from (_tune(site, zone) for zone in site.plan.zones)
    yield site.step(
        "inspect",
        items=[Item(key="backflow-tested", words="Backflow protection tested where local code asks for it")],
        quantities={JOB: 1},
        after=["test", *site.steps_of("backflow")],
    )
    yield site.step(
        "record",
        items=[
            Item(key="recorded", words="Every buried valve, splice and pipe is in the log; as-built sheet printed"),
            Item(key="drawn", words="Shut-off, valves and drains shown to whoever lives here"),
        ],
        quantities={JOB: 1},
        after=["inspect", "return", *site.steps_of("tune")],
    )


def _tune(site: Site, zone: Zone) -> Step:
    worst = next((head for head in site.plan.heads if head.id == zone.worst_head), None)
    own = group([head_key(head) for head in site.plan.heads if head.id in zone.heads])
    expected = site.shown(worst.pressure if worst else zone.pressure_low, "pressure")
    return site.step(
        "tune",
        zone.id,
        items=[
            Item(
                key=f"set:{own}",
                words=f"Arcs and radii of {zone.id} set while it runs: no spray on house, road or neighbour",
            ),
            Item(
                key=f"read:{own}",
                words=f"Pressure read at {zone.worst_head} while {zone.id} runs",
                note=f"the plan expects {expected} there",
                at=worst.at if worst else None,
                name=worst.id if worst else "",
            ),
            Item(
                key=f"turns:{own}",
                words=f"Flow control of {zone.id} set, and its turns and a reading in the log",
                note="Readings tells the turns; where it says so it stays wide open.",
            ),
            Item(key=f"cups:{own}", words=f"Catch cups set out and read while {zone.id} runs"),
        ],
        quantities={JOB: 1, ("head", ""): len(zone.heads)},
        after=["settle", "controller"],
        ends=f"{zone.worst_head} reads about {expected} and the cups of {zone.id} are in the log",
    )


def _layout(site: Site) -> Step:
    heads = {zone.id: site.heads_of(zone.id) for zone in site.plan.zones}
    metres = sum(dug.trench.length for dug in site.nets.dug)
    flags = [
        Item(
            key=f"flags:{group([head_key(head) for head in own])}",
            words=f"Flags at the {named(len(own), 'head')} of {zone}",
            note="Find gives two distances for each head.",
        )
        for zone, own in heads.items()
        if own
    ]
    return site.step(
        "layout",
        items=[*flags, Item(key="trenches-marked", words="Trenches marked in white")],
        quantities={("head", ""): sum(map(len, heads.values())), ("metre", ""): metres},
    )
