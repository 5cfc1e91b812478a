"""What one entry of the log changes: the plan's numbers that move, what concludes from it, what it shows to be done."""

import uuid
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import takewhile

from rillwright.errors import InputError
from rillwright.jobs.answers.answer import Answer, Book
from rillwright.jobs.answers.cups import cup_answers
from rillwright.jobs.answers.fills import fill_answers
from rillwright.jobs.answers.ground import ground_answers
from rillwright.jobs.answers.leaks import leak_answers
from rillwright.jobs.answers.meters import meter_answers
from rillwright.jobs.answers.recalibrated import recalibrated_answer
from rillwright.jobs.answers.settings import setting_answers
from rillwright.jobs.answers.starts import start_answers
from rillwright.jobs.answers.strangers import stranger_answers
from rillwright.jobs.done import done_items
from rillwright.jobs.guide import plan_steps
from rillwright.model.field_log import (
    Entry,
    HeadPressure,
    MoneyPaid,
    PartFitted,
    PartsBought,
    PartsReturned,
    PipeBuried,
    Repair,
    TrenchWork,
    ValveSetting,
    WaterUsed,
    WinterWork,
    standing,
    zone_flow,
)
from rillwright.model.guide import BuildTerms
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.physics.units import show

__all__ = ["Effect", "Move", "effect_of"]

_ANY_DAY = date(2000, 1, 1)  # steps come without dates here
Asked = Callable[[Book], Iterator[Answer]]
_RESTS: dict[str, tuple[Asked, ...]] = {
    "supply test": (fill_answers, recalibrated_answer),
    "meter pair": (meter_answers, recalibrated_answer, stranger_answers),
    "zone flow": (recalibrated_answer, stranger_answers),
    "zone start": (start_answers, setting_answers, recalibrated_answer),
    "valve setting": (setting_answers, start_answers, recalibrated_answer),
    "head pressure": (start_answers, recalibrated_answer, stranger_answers),
    "head look": (start_answers, stranger_answers),
    "zone walk": (start_answers, stranger_answers),
    "leak watch": (leak_answers,),
    "catch cups": (cup_answers,),
    "soil intake": (ground_answers,),
    "spot height": (ground_answers,),
}
_WORK = {
    PartsBought: "What it paid for counts as bought, in the money and when changes of the job are weighed.",
    PartsReturned: "What went back counts as bought no longer, in the money and when changes of the job are weighed.",
    MoneyPaid: "The money counts it as paid.",
    TrenchWork: "The state of these trenches counts when changes of the job are weighed.",
    PipeBuried: "The as-built record shows it as it lies, and a change that moves it has to dig.",
    PartFitted: "The as-built record shows it where it is.",
    Repair: "The yearly record counts it.",
    WaterUsed: "The yearly record counts it.",
    WinterWork: "The yearly record counts it.",
}


@dataclass(frozen=True, slots=True)
class Move:
    """One number of the plan, before and after an entry."""

    key: str  # of its working in the answers
    title: str
    before: float  # SI
    after: float  # SI
    dimension: str


@dataclass(frozen=True, slots=True)
class Effect:
    """What an entry changed; nothing at all when all is empty."""

    moves: tuple[Move, ...] = ()
    says: tuple[str, ...] = ()  # what is concluded from it now, and what else rests on it
    ticks: tuple[str, ...] = ()  # items of the build that it shows to be done, or no longer

    def words(self, plan: Plan) -> tuple[str, ...]:
        """Line by line for a person."""
        if not (self.moves or self.says or self.ticks):
            return ("Nothing in the plan rests on it.",)
        system = plan.yard.units
        moved = (
            f"{one.title}: before {show(one.before, one.dimension, system)}, now "
            f"{show(one.after, one.dimension, system)}."
            for one in self.moves
        )
        return (*self.says, *moved, *self.ticks)


def effect_of(entry: uuid.UUID, plan: Plan, log: Sequence[Entry], catalogue: Catalogue, *, seed: int = 0) -> Effect:
    """What an entry of a log changed against the same log without it.

    Parameters: entry, an id in the log; plan, that is being built; log, every entry in its order, corrections as
    written. The tests that can rest on an entry of its kind are concluded twice, with it and without it. Errors:
    InputError when the log has no such entry.
    """
    own = next((one for one in log if one.id == entry), None)
    if own is None:
        raise InputError(f"the log has no entry {entry}")
    with_it, without = standing(log), standing([one for one in log if one.id != entry])
    now, before = (_concluded(own.what.kind, plan, entries, catalogue, seed) for entries in (with_it, without))
    told = {answer.subject: answer for answer in before}
    fresh = [a for a in now if a.subject not in told or a.verdict != told[a.subject].verdict or entry in a.entries]
    gone = [subject for subject in told if subject not in {answer.subject for answer in now}]
    says = [f"{a.subject[0].upper()}{a.subject[1:]}: {a.verdict}" for a in fresh]
    says += [f"No longer concluded: {subject}." for subject in gone]
    if not any(entry in answer.entries for answer in now) and (zone := _turned_in(own, plan, with_it)):
        says.append(f"Read with the flow control of {zone} turned in: the plan's numbers go by readings wide open.")
    if plan.zones and type(own.what) in _WORK:
        says.append(_WORK[type(own.what)])
    return Effect(tuple(_moves(before, now, plan)), tuple(says), tuple(_ticks(plan, without, with_it, catalogue)))


def _turned_in(own: Entry, plan: Plan, entries: Sequence[Entry]) -> str:
    """Zone that a flow or a head's pressure was read of after its flow control was turned in; empty for none."""
    metered = zone_flow(own.what)
    head = own.what.head if isinstance(own.what, HeadPressure) else ""
    name = metered.zone if metered else next((zone.id for zone in plan.zones if head in zone.heads), "")
    before = takewhile(lambda one: one.id != own.id, entries)
    turned = {one.what.zone for one in before if isinstance(one.what, ValveSetting) and one.what.turns > 0}
    return name if name in turned else ""


def _concluded(kind: str, plan: Plan, entries: list[Entry], catalogue: Catalogue, seed: int) -> list[Answer]:
    book = Book(plan, catalogue, tuple(entries), seed)
    return [answer for test in _RESTS.get(kind, ()) for answer in test(book)]


def _moves(before: Sequence[Answer], now: Sequence[Answer], plan: Plan) -> Iterator[Move]:
    """Numbers of the plan, by all readings together, whose print changes; before the first reading, the plan's own."""
    was = {working.key: working for answer in before for working in answer.workings}
    for answer in now:
        for working in answer.workings:
            stem, end = working.key.rpartition(".")[::2]
            if end != "after-median":
                continue
            first = was.get(working.key) or next(w for w in answer.workings if w.key == f"{stem}.before-median")
            if first.printed(plan) != working.printed(plan):
                title = working.title.removesuffix(", after")
                yield Move(working.key, title, first.value, working.value, working.dimension)


def _ticks(plan: Plan, before: list[Entry], now: list[Entry], catalogue: Catalogue) -> Iterator[str]:
    if not plan.zones:
        return
    steps = plan_steps(plan, catalogue, BuildTerms(start=_ANY_DAY))
    done = [done_items(plan, steps, entries=entries).keys() for entries in (before, now)]
    words = {item.key: f"{step.title}: {item.words}" for step in steps for item in step.items}
    for key, told in words.items():
        if (key in done[0]) != (key in done[1]):
            yield f"{'Done by this' if key in done[1] else 'No longer done'}: {told}"
