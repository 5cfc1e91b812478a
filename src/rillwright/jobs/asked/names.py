"""Names and days: what an entry calls by a name that the plan does not have, and entries from days to come."""

import difflib
from collections.abc import Iterable, Iterator
from datetime import timedelta

from rillwright.jobs.asked.question import Known, Question
from rillwright.model.field_log import (
    CatchCups,
    Entry,
    HeadLook,
    HeadPressure,
    LeakWatch,
    PartsBought,
    PartsReturned,
    PipeBuried,
    SoilIntake,
    TrenchWork,
    ValveSetting,
    WinterWork,
    Written,
    ZoneStart,
    ZoneWalk,
    zone_flow,
)
from rillwright.model.plan import Plan

__all__ = ["name_questions"]

_AHEAD = timedelta(days=1)  # by which a clock may be wrong, or in another zone


def name_questions(entry: Entry, known: Known) -> Iterator[Question]:
    """Names that the plan does not hold, parts that it does not list, and a day that has not come."""
    if known.now is not None and entry.made > known.now + _AHEAD:
        day = entry.made.date().isoformat()
        yield Question("day to come", f"made on {day}", "that day has not come yet", "Look at the date.")
    if known.plan is None:
        return
    for what, named, here in _named(entry.what, known.plan):
        for name in named:
            if name not in here:
                near = difflib.get_close_matches(name, here, n=3) or list(here)[:6]
                yield Question(
                    f"no {what}", f"{what} '{name}'", f"the plan has none of this name; near it: {', '.join(near)}",
                    "Look at its name on the plan; what is kept under another name counts for nothing.",
                )  # fmt: skip


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
    elif isinstance(what, PartsBought | PartsReturned):
        yield "part", [part.part for part in what.parts], [line.part for line in plan.parts]
