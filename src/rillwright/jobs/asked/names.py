"""Names and days: what an entry calls by a name that the plan does not have, and entries from days to come."""

import difflib
from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from rillwright.jobs.asked.question import Known, Question
from rillwright.jobs.guide import plan_steps
from rillwright.model.field_log import (
    CatchCups,
    Entry,
    HeadLook,
    HeadPressure,
    LeakWatch,
    PartFitted,
    PartsBought,
    PartsReturned,
    PipeBuried,
    Repair,
    SoilIntake,
    Ticked,
    TrenchWork,
    ValveSetting,
    WaterUsed,
    WinterWork,
    Written,
    ZoneStart,
    ZoneWalk,
    zone_flow,
)
from rillwright.model.guide import BuildTerms
from rillwright.model.plan import Plan

__all__ = ["name_questions"]

_AHEAD = timedelta(days=1)  # by which a clock may be wrong, or in another zone


def name_questions(entry: Entry, known: Known) -> Iterator[Question]:
    """Names that the plan does not hold, parts that it does not list, and a day that has not come."""
    yield from _days(entry, known)
    if known.plan is None:
        return
    if isinstance(entry.what, Ticked):
        yield from _of_tick(entry.what.item, known.plan, known)
    for what, named, here in _named(entry.what, known.plan):
        for name in named:
            if name not in here:
                near = difflib.get_close_matches(name, here, n=3) or list(here)[:6]
                yield Question(
                    f"no {what}", f"{what} '{name}'", f"the plan has none of this name; near it: {', '.join(near)}",
                    "Look at its name on the plan; what is kept under another name counts for nothing.",
                )  # fmt: skip


def _days(entry: Entry, known: Known) -> Iterator[Question]:
    """Of what a person wrote down; a device's own clock may be wrong, and nobody typed it."""
    days = [entry.when] if entry.when is not None else [entry.made] if known.typed else []
    latest = max((day.date() for day in days), default=None)
    if isinstance(entry.what, WaterUsed):
        latest = max(entry.what.until, latest or entry.what.until)
    if known.now is not None and latest is not None and latest > (known.now + _AHEAD).date():
        yield Question("day to come", f"made on {latest}", "that day has not come yet", "Look at the date.")


def _of_tick(item: str, plan: Plan, known: Known) -> Iterator[Question]:
    """Ticks go by the keys of the steps, which a person does not see; the page sends none that is not there."""
    steps = plan_steps(plan, known.catalogue, BuildTerms(start=date(2000, 1, 1))) if plan.zones else ()
    keys = [item.key for step in steps for item in step.items]
    if item not in keys:
        near = difflib.get_close_matches(item, keys, n=3) or keys[:6]
        why = f"the plan's steps have no such item; near it: {', '.join(near)}"
        yield Question("no item", f"item '{item}'", why, "`rillwright guide` writes the keys into guide.json.")


def _named(what: Written, plan: Plan) -> Iterator[tuple[str, Iterable[str], list[str]]]:
    """What an entry names: the kind of thing, its names, and those of the plan."""
    heads, zones = [head.id for head in plan.heads], [zone.id for zone in plan.zones]
    metered = zone_flow(what)
    if metered is not None:
        yield "zone", [metered.zone], zones
    elif isinstance(what, CatchCups | ZoneStart | ValveSetting | ZoneWalk | WinterWork) and what.zone is not None:
        yield "zone", [what.zone], zones
    if isinstance(what, HeadPressure | HeadLook):
        yield "head", [what.head], heads
    elif isinstance(what, ZoneWalk) and what.head is not None:
        yield "head", [what.head], next((list(z.heads) for z in plan.zones if z.id == what.zone), heads)
    elif isinstance(what, ZoneStart | ValveSetting):
        own = next((list(z.heads) for z in plan.zones if z.id == what.zone), heads)
        yield "place of a gauge", [gauge.at for gauge in what.pressures], ["entry", "valve", *own]
    elif isinstance(what, PipeBuried):
        yield "pipe", [what.pipe], [pipe.id for pipe in plan.pipes]
    elif isinstance(what, TrenchWork):
        yield "trench", what.trenches, [trench.id for trench in plan.trenches]
    elif isinstance(what, LeakWatch):
        yield "pipe or zone to close in", what.closed_in, ["main", *zones, *(pipe.id for pipe in plan.pipes)]
    elif isinstance(what, SoilIntake) and what.lawn is not None:
        yield "lawn", [what.lawn], [area.id for area in plan.yard.areas if area.kind == "lawn"]
    elif isinstance(what, PartFitted | Repair):
        lines = [*(pipe.id for pipe in plan.pipes), *(trench.id for trench in plan.trenches)]
        everywhere = [*zones, *(place.id for place in plan.places), *heads, *lines, "entry", "main"]
        valve = isinstance(what, PartFitted) and what.part == "valve"
        name = what.name if isinstance(what, PartFitted) else what.of
        yield ("zone of a valve", [name], zones) if valve else ("thing", [name], everywhere)
    elif isinstance(what, PartsBought | PartsReturned):
        yield "part", [part.part for part in what.parts], [line.part for line in plan.parts]
