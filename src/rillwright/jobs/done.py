"""Which items of a build are done: what was ticked, and what the log shows to be done."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from rillwright.jobs.carried import carried
from rillwright.model.field_log import (
    CatchCups,
    Entry,
    HeadPressure,
    PartFitted,
    PartsBought,
    PipeBuried,
    Ticked,
    TrenchWork,
    ValveSetting,
)
from rillwright.model.guide import Step
from rillwright.model.plan import Plan
from rillwright.solvers.guide.keys import filled_key, trench_key

__all__ = ["done_items"]


def done_items(plan: Plan, steps: Iterable[Step], *, entries: Iterable[Entry]) -> Mapping[str, date]:
    """Day on which each item was done, by its key: what was ticked, and what readings and work in the log show.

    Parameters: plan and its steps; entries, what counts of the log, ticks among them in the order of arrival. A pipe
    that is buried is laid, and the trenches that it lies in are dug; a trench that is open or closed is dug, a closed
    one filled; a valve place whose valves are all fitted is built; a head's pressure and a zone's cups are read, its
    flow control is set; a whole parts list that was bought is in hand. The last tick on an item stands over all else,
    until the log says anew of its trench whether it is open.
    """
    counting = carried(plan, entries)
    said = _said(plan, counting)
    items = {step.id: step.items for step in steps}
    found: dict[str, date] = {}
    for name, day in _shown(plan, counting):
        step, of = name
        for item in items.get(step, ()):
            if of in (item.name, item.key.split(":")[0]):
                found.setdefault(item.key, day)
    keys = {item.key for own in items.values() for item in own}
    found |= {key: day for key, day in _worked(plan, counting) if key in keys}
    found |= {key: day for key, (done, day) in said.items() if done}
    return {key: day for key, day in found.items() if said.get(key, (True, day))[0]}


def _said(plan: Plan, entries: Sequence[Entry]) -> dict[str, tuple[bool, date]]:
    """The last tick on each item, less those that a later word on their trench puts aside."""
    trenches = {trench.id: trench for trench in plan.trenches}
    said: dict[str, tuple[bool, date]] = {}
    for entry in entries:
        if isinstance(entry.what, Ticked):
            said[entry.what.item] = (entry.what.done, entry.made.date())
        elif isinstance(entry.what, TrenchWork):
            for trench in (trenches[name] for name in entry.what.trenches if name in trenches):
                said.pop(filled_key(trench), None)
                said.pop(trench_key(trench), None)
    return said


def _worked(plan: Plan, entries: Sequence[Entry]) -> Iterator[tuple[str, date]]:
    """Keys of items that trenches, pipes in them and receipts show to be done, with the day.

    Of a trench its last state counts; a pipe is written down before it is covered, so it says that its trench is dug.
    """
    trenches = {trench.id: trench for trench in plan.trenches}
    state: dict[str, tuple[str, date]] = {}
    for entry in entries:
        what, day = entry.what, entry.made.date()
        if isinstance(what, TrenchWork):
            state |= {name: (what.state, day) for name in what.trenches if name in trenches}
        elif isinstance(what, PipeBuried):
            for trench in plan.trenches:
                if what.pipe in trench.pipes:
                    state.setdefault(trench.id, ("open", day))
        elif isinstance(what, PartsBought) and what.whole_list:
            yield "parts", day
    for name, (last, day) in state.items():
        yield trench_key(trenches[name]), day
        if last == "closed":
            yield filled_key(trenches[name]), day


def _shown(plan: Plan, entries: Sequence[Entry]) -> Iterator[tuple[tuple[str, str], date]]:
    """What a log shows to be done: a step's id and, of its items, the name or the kind of key; with the day."""
    net = {pipe.id: "main" if pipe.zone is None else f"lay:{pipe.zone}" for pipe in plan.pipes}
    valves: dict[str, date] = {}
    for entry in entries:
        what, day = entry.what, entry.made.date()
        if isinstance(what, PipeBuried) and what.pipe in net:
            yield (net[what.pipe], what.pipe), day
        elif isinstance(what, HeadPressure):
            yield from (((f"tune:{z.id}", "read"), day) for z in plan.zones if z.worst_head == what.head)
        elif isinstance(what, CatchCups):
            yield (f"tune:{what.zone}", "cups"), day
        elif isinstance(what, ValveSetting):
            yield (f"tune:{what.zone}", "turns"), day
        elif isinstance(what, PartFitted) and what.part == "valve":
            valves[what.name] = day
    for place in plan.places:
        if set(place.zones) <= valves.keys():
            yield (f"valves:{place.id}", place.id), max(valves[zone] for zone in place.zones)
