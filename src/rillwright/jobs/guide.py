"""The build guide of a plan: its steps put in order, dated, and counted down by what is done already."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np

from rillwright.errors import InputError
from rillwright.model.ground import resolve_ground
from rillwright.model.guide import (
    BuildTerms,
    DayPart,
    FinishBand,
    Guide,
    Rental,
    Step,
    StepTime,
    WorkDay,
)
from rillwright.model.labour import load_labour
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.report.guide_page import render_guide
from rillwright.report.guide_sheets import guide_pdf
from rillwright.solvers.guide import (
    Calendar,
    Chain,
    Finish,
    Order,
    Task,
    build_steps,
    least_rent,
    longest_chain,
    order_steps,
    sample_finish,
)
from rillwright.solvers.guide.finish import SAMPLES

__all__ = ["ASSUMED_LATITUDE", "GUIDE_FILES", "guide_files", "make_guide", "plan_steps"]

GUIDE_FILES = ("guide.json", "guide.html", "guide.pdf")

ASSUMED_LATITUDE = 43.0  # [°] where nobody has said: winters are hard there; judgement
MACHINE = "trencher"
BLOCK = ("fetch", "dig by machine", "return")  # kinds of the rented machine's steps
IN_TURN = ("dig by machine", "dig by hand", "lay", "flush", "heads", "tune")
TOGETHER = ("shut", "join")  # the house has no water in between
FIRST_DAYS = 120  # of the calendar that is tried first
MOST_DAYS = 1500
SLACK_JOT = 0.01  # [days]

Arcs = list[tuple[str, str, str]]


def guide_files(guide: Guide, plan: Plan) -> dict[str, bytes]:
    """Every file of a guide, by name."""
    texts = (guide.model_dump_json(indent=1).encode(), render_guide(guide, plan).encode(), guide_pdf(guide, plan))
    return dict(zip(GUIDE_FILES, texts, strict=True))


def plan_steps(plan: Plan, catalogue: Catalogue, terms: BuildTerms) -> tuple[Step, ...]:
    """The steps alone, in the order of a usual build."""
    return build_steps(plan, resolve_ground(plan.yard), catalogue=catalogue, terms=terms)


def make_guide(
    plan: Plan, catalogue: Catalogue, terms: BuildTerms, *, done: Mapping[str, date] | None = None, seed: int = 0
) -> Guide:
    """Make the guide of a plan.

    Parameters: plan, with zones; catalogue; terms; done, by key of an item the day on which it was ticked; seed of the
    drawn finishes. Errors: InputError for a plan without zones, or terms under which the work has no end in sight.
    """
    steps = plan_steps(plan, catalogue, terms)
    if not steps:
        raise InputError("this plan has no zones, so there is nothing to build: mend what its findings say, plan again")
    latitude, assumed = _latitude(plan, terms)
    state = _State.of(steps, terms, done or {})
    days = FIRST_DAYS
    while True:
        calendar = Calendar.of(terms, latitude=latitude, lost_days=load_labour().lost_days, days=days)
        room = float((calendar.room * (1 - calendar.lost)).sum())
        dated = _dated(state, terms, calendar, seed) if room > sum(state.left.values()) else None
        if dated is not None:
            break
        days *= 2
        if days > MOST_DAYS:
            raise InputError(
                f"the work does not end within {MOST_DAYS // 365} years on these terms: allow more days of the week, "
                "more hours or a larger crew"
            )
    return _told(state, terms, calendar, dated, latitude, assumed)


@dataclass(frozen=True, slots=True)
class _State:
    """What is done and what is left."""

    steps: tuple[Step, ...]
    share: Mapping[str, float]  # done
    done: Mapping[str, int]  # day on which each done step ended: 0 is the start, or a clock that ran ahead
    left: Mapping[str, float]  # [s] mean, of the steps still to go, in the usual order
    arcs: Arcs  # into steps still to go
    in_turn: Arcs  # zones one after another, as the plan has them, where nothing asks for another order

    @classmethod
    def of(cls, steps: tuple[Step, ...], terms: BuildTerms, ticked: Mapping[str, date]) -> "_State":
        share = {s.id: sum(item.key in ticked for item in s.items) / len(s.items) for s in steps}
        done = {
            s.id: min(max((ticked[item.key] - terms.start).days for item in s.items), 0)
            for s in steps
            if share[s.id] == 1
        }
        left = {s.id: s.duration(terms.crew).mean * (1 - share[s.id]) for s in steps if s.id not in done}
        by_id = {s.id: s for s in steps}
        arcs = [arc for s in steps if s.id in left for arc in _arcs_into(s, by_id, left)]
        turns = [[s.id for s in steps if s.kind == kind and s.id in left] for kind in IN_TURN]
        in_turn = [(a, b, "") for names in turns for a, b in pairwise(names)]
        return cls(steps, share, done, left, arcs, in_turn)

    @property
    def waits(self) -> dict[str, int]:
        """Whole days of each wait, at its mean."""
        every = {a.wait.name: a.wait for s in self.steps for a in s.after if a.wait}
        return {name: round(wait.days.mean) for name, wait in every.items()}

    @property
    def block(self) -> list[str]:
        """Steps of the rented machine still to go, in their order."""
        return [s.id for s in self.steps if s.kind in BLOCK and s.id in self.left]


@dataclass(frozen=True, slots=True)
class _Dated:
    order: Order
    finish: Finish
    alone: Chain  # however many help
    crewed: Chain  # with one crew, in the order found


def _arcs_into(step: Step, steps: Mapping[str, Step], left: Collection[str]) -> Arcs:
    """What a step still to go waits for; of one that is done, what that should have waited for."""
    found, looked = [(a.step, step.id, a.wait.name if a.wait else "") for a in step.after], {step.id}
    behind = [a.step for a in step.after if a.step not in left]
    while behind:
        done = behind.pop()
        for a in steps[done].after if done not in looked else ():
            if a.step in left:
                found.append((a.step, step.id, a.wait.name if a.wait else ""))
            else:
                behind.append(a.step)
        looked.add(done)
    return list(dict.fromkeys(found))


def _dated(state: _State, terms: BuildTerms, calendar: Calendar, seed: int) -> _Dated | None:
    """Order and finish on a calendar; None when it is too short."""
    rent = load_labour().rents[MACHINE]
    block = state.block
    if not state.left:
        return _Dated(Order({}, {}, True), Finish(0, 0, 0, 1.0, None, True), Chain(0, (), {}), Chain(0, (), {}))
    task = Task(
        durations=state.left,
        arcs=state.arcs + state.in_turn,
        waits=state.waits,
        done=state.done,
        calendar=calendar,
        block=block,
        together=TOGETHER,
        rent=lambda days: least_rent(days, rent),
    )
    usual = order_steps(task, seed=seed)
    finish = sample_finish(
        list(usual.begins),
        steps={step.id: step for step in state.steps},
        left={name: 1 - state.share[name] for name in state.left},
        arcs=state.arcs,
        done=state.done,
        mornings=frozenset({"fetch"}),
        block=block,
        crew=terms.crew,
        planned=calendar.day_of_end(max(usual.ends.values())),
        calendar=calendar,
        seed=seed,
    )
    if not finish.enough:
        return None
    return _Dated(usual, finish, _chain(state, calendar, None), _chain(state, calendar, usual))


def _chain(state: _State, calendar: Calendar, order: Order | None) -> Chain:
    """Longest chain [days], with work spread evenly over the calendar's days; along the crew's order when given."""
    a_day = float(np.mean(calendar.room))
    durations = {step: seconds / a_day for step, seconds in state.left.items()}
    waits = state.waits
    arcs = [(a, b, float(waits.get(wait, 0))) for a, b, wait in state.arcs if a in state.left]
    if order is not None:
        names = list(order.begins)
        arcs += [(a, b, 0.0) for a, b in pairwise(names)]
    return longest_chain(durations, arcs)


def _latitude(plan: Plan, terms: BuildTerms) -> tuple[float, list[str]]:
    if terms.latitude is not None:
        return terms.latitude, []
    if plan.yard.origin is not None:
        return plan.yard.origin.lat, []
    return ASSUMED_LATITUDE, [
        f"Neither yard nor terms give a latitude: {ASSUMED_LATITUDE:.0f}° is assumed for daylight."
    ]


def _told(
    state: _State, terms: BuildTerms, calendar: Calendar, dated: _Dated, latitude: float, assumed: list[str]
) -> Guide:
    by_id = {step.id: step for step in state.steps}
    names = [*(s.id for s in state.steps if s.id in state.done), *dated.order.begins]
    ends = dated.order.ends.values()
    finish = calendar.day(calendar.day_of_end(max(ends))) if ends else None
    found = dated.finish
    days = (calendar.day(n) for n in (found.early, found.middle, found.late))
    band = (
        FinishBand(**dict(zip(("early", "middle", "late"), days, strict=True)), planned=found.by_plan, samples=SAMPLES)
        if finish
        else None
    )
    return Guide(
        terms=terms,
        latitude=latitude,
        steps=tuple(by_id[name] for name in names),
        times=tuple(_time(name, state, dated, calendar) for name in names),
        days=_work_days(dated.order, calendar, set(state.block)),
        rentals=_rentals(state, dated, calendar),
        finish=finish,
        band=band,
        least_days=dated.alone.length,
        chain=dated.alone.steps,
        proven=dated.order.proven,
        assumed=(*assumed, *dict.fromkeys(text for step in state.steps for text in step.assumed)),
    )


def _time(name: str, state: _State, dated: _Dated, calendar: Calendar) -> StepTime:
    if name in state.done:
        return StepTime(step=name, done=True, share_done=1, left=0, begins=None, ends=None, slack=0, critical=False)
    slack = max(dated.crewed.slack[name], 0.0)
    return StepTime(
        step=name,
        done=False,
        share_done=state.share[name],
        left=state.left[name],
        begins=calendar.day(calendar.day_of_begin(dated.order.begins[name])),
        ends=calendar.day(calendar.day_of_end(dated.order.ends[name])),
        slack=slack,
        critical=slack < SLACK_JOT,
    )


def _work_days(order: Order, calendar: Calendar, block: set[str]) -> tuple[WorkDay, ...]:
    """The days on which something is done, each with its share of the steps."""
    before = calendar.before
    shares: dict[int, list[DayPart]] = {}
    for name, begin in order.begins.items():
        end = order.ends[name]
        for day in range(calendar.day_of_begin(begin), calendar.day_of_end(end) + 1):
            low, high = max(begin, before[day]), min(end, before[day + 1])
            if high - low > 1e-6:
                part = DayPart(step=name, seconds=high - low, begins=low == begin, ends=high == end)
                shares.setdefault(day, []).append(part)
    return tuple(
        WorkDay(
            number=number,
            day=calendar.day(day),
            room=float(calendar.room[day]),
            daylight=float(calendar.light[day]),
            parts=tuple(shares[day]),
            machine=any(part.step in block for part in shares[day]),
        )
        for number, day in enumerate(sorted(shares), start=1)
    )


def _rentals(state: _State, dated: _Dated, calendar: Calendar) -> tuple[Rental, ...]:
    block = state.block
    if not block:
        return ()
    order, rent = dated.order, load_labour().rents[MACHINE]
    first = calendar.day_of_begin(min(order.begins[name] for name in block))
    last = calendar.day_of_end(max(order.ends[name] for name in block))
    days = last - first + 1
    return (
        Rental(
            machine=MACHINE,
            first=calendar.day(first),
            last=calendar.day(last),
            days=days,
            cost=least_rent(days, rent),
            likely_days=dated.finish.block_days or (days, days),
            source=rent.source,
        ),
    )
