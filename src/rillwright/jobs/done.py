"""Which items of a build are done: what was ticked, and what the log shows to be done."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Protocol

from rillwright.model.field_log import CatchCups, Entry, HeadPressure, PartFitted, PipeBuried
from rillwright.model.guide import Step
from rillwright.model.plan import Plan

__all__ = ["Word", "done_items"]


class Word(Protocol):
    """A word on an item, as the store has it."""

    @property
    def step(self) -> str:
        """Key of the item."""

    @property
    def done(self) -> bool:
        """Whether it is done."""

    @property
    def made(self) -> datetime:
        """When it was said."""


def done_items(
    plan: Plan, steps: Iterable[Step], *, words: Iterable[Word], entries: Iterable[Entry]
) -> Mapping[str, date]:
    """Day on which each item was done, by its key.

    Parameters: plan and its steps; words, the last on each item; entries, what counts of the log. A pipe that is
    buried is laid; a valve place whose valves are all fitted is built; a head's pressure and a zone's cups are read. A
    word that says 'not done' stands over the log.
    """
    said = {word.step: word for word in words}
    items = {step.id: step.items for step in steps}
    found: dict[str, date] = {}
    for name, day in _shown(plan, list(entries)):
        step, of = name
        for item in items.get(step, ()):
            if of in (item.name, item.key.split(":")[0]):
                found.setdefault(item.key, day)
    found |= {key: word.made.date() for key, word in said.items() if word.done}
    return {key: day for key, day in found.items() if key not in said or said[key].done}


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
        elif isinstance(what, PartFitted) and what.part == "valve":
            valves[what.name] = day
    for place in plan.places:
        if set(place.zones) <= valves.keys():
            yield (f"valves:{place.id}", place.id), max(valves[zone] for zone in place.zones)
