"""The build guide in words: what its page and its sheets print, in the yard's units."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from itertools import groupby
from typing import Any, Literal

from rillwright.model.guide import Caution, DayPart, Estimate, Guide, Item, PartTaken, Step, StepTime, Work, WorkDay
from rillwright.model.plan import Plan
from rillwright.physics.units import show

__all__ = ["guide_words"]

HOUR = 3600.0  # [s]

Words = dict[str, Any]


def guide_words(guide: Guide, plan: Plan) -> Words:
    """Everything that is printed of a guide, as texts and lists of texts that JSON can hold.

    Days hold the steps of one work day, steps the whole guide; a caution stands with the days and steps it belongs to.
    """
    steps = {step.id: step for step in guide.steps}
    return {
        "yard": plan.yard.name,
        "software": plan.software,
        "units": plan.yard.units,
        "terms": _terms(guide),
        "facts": _facts(guide, plan),
        "assumed": list(guide.assumed),
        "chain": [steps[name].title for name in guide.chain],
        "least_days": f"{guide.least_days:.0f}",
        "proven": guide.proven,
        "cautions": _cautions(guide.steps),
        "days": [_day(day, steps, guide, plan) for day in guide.days],
        "steps": [_step(s, t, guide, plan) for s, t in zip(guide.steps, guide.times, strict=True)],
        "lost": f"{guide.terms.lost_days:.0%} of the days"
        if guide.terms.lost_days is not None
        else "a chance by month",
    }


def _terms(guide: Guide) -> str:
    terms = guide.terms
    people = "1 person" if terms.crew == 1 else f"{terms.crew} people"
    return (
        f"from {long_date(terms.start)}, {people}, {', '.join(terms.days)}, up to {terms.hours:g} h a day, "
        f"trenches by {terms.digging}"
    )


def _facts(guide: Guide, plan: Plan) -> list[list[str]]:
    band, finish = guide.band, guide.finish
    facts = [["done", f"{guide.share_done:.0%} of what is ticked off"]]
    facts += [["work left", f"{guide.work_left / HOUR:.0f} h on {len(guide.days)} work days"]]
    if finish is not None and band is not None:
        kept = f"{long_date(finish)} ({band.planned:.0%} of builds are done by then)"
        facts.append(["finish, mean times, no day lost", kept])
        facts.append(["finish, 1 build in 10 is done by", long_date(band.early)])
        facts.append(["finish, every other build is done by", long_date(band.middle)])
        facts.append(["finish, 9 builds in 10 are done by", long_date(band.late)])
    for rental in guide.rentals:
        days = "1 day" if rental.days == 1 else f"{rental.days} days"
        low, high = rental.likely_days
        likely = f"{low}" if low == high else f"{low} to {high}"
        price = f"{rental.cost:.2f} {plan.yard.currency} ({rental.source})"
        facts.append(
            [f"rented {rental.machine}", f"{days} from {long_date(rental.first)}, {price}; likely days {likely}"]
        )
    return facts


def _day(day: WorkDay, steps: Mapping[str, Step], guide: Guide, plan: Plan) -> Words:
    runs = groupby(day.parts, key=lambda part: steps[part.step].kind)
    shown = [_run([(part, steps[part.step]) for part in run], guide, plan) for _, run in runs]
    return {
        "number": day.number,
        "date": long_date(day.day),
        "room": _hours(sum(part.seconds for part in day.parts)),
        "daylight": _hours(day.daylight),
        "machine": guide.rentals[0].machine if day.machine and guide.rentals else "",
        "parts": shown,
        "cautions": _cautions(steps[part.step] for part in day.parts),
        "tools": _once(tool for part in day.parts for tool in steps[part.step].tools),
        "weather": _once(steps[part.step].weather for part in day.parts if steps[part.step].weather != "any"),
    }


def _run(run: Sequence[tuple[DayPart, Step]], guide: Guide, plan: Plan) -> Words:
    """Steps of one kind that follow one another on a day, told together."""
    first, *others = (step.title for _, step in run)
    begun = [step for share, step in run if share.begins]
    taken: dict[tuple[str, Literal["piece", "m"]], float] = defaultdict(float)
    for part in (part for step in begun for part in step.parts):
        taken[part.part, part.unit] += part.quantity
    return {
        "title": "; ".join([first, *(title.split(": ", 1)[-1] for title in others)]),
        "takes": _hours(sum(share.seconds for share, _ in run)),
        "people": run[0][1].people(guide.terms.crew),
        "goes_on_from": not run[0][0].begins,
        "goes_on": not run[-1][0].ends,
        "before": _once(words for step in begun for words in step.before),
        "items": [_item(item) for _, step in run for item in step.items],
        "parts": [_taken(PartTaken(part=p, unit=unit, quantity=q), plan) for (p, unit), q in taken.items()],
        "ends": _once(step.ends for share, step in run if share.ends),
    }


def _step(step: Step, time: StepTime, guide: Guide, plan: Plan) -> Words:
    takes = step.duration(guide.terms.crew)
    return {
        "title": step.title,
        "done": time.done,
        "share": f"{time.share_done:.0%}",
        "when": _when(time),
        "takes": _three(takes),
        "mean": _hours(takes.mean),
        "slack": "" if time.done else ("none" if time.critical else f"{time.slack:.1f} days"),
        "critical": time.critical,
        "people": step.people(guide.terms.crew),
        "working": [_labour(work, plan) for work in step.work],
        "waits": _once(f"{a.wait.why}: {_waiting(a.wait.days)} ({a.wait.source})" for a in step.after if a.wait),
        "before": list(step.before),
        "items": [_item(item) for item in step.items],
        "parts": [_taken(taken, plan) for taken in step.parts],
        "tools": list(step.tools),
        "ends": step.ends,
        "weather": step.weather,
        "cautions": _cautions([step]),
        "assumed": list(step.assumed),
        "source": step.source,
    }


def _cautions(steps: Iterable[Step]) -> list[Words]:
    """Cautions of some steps, each once, with the source."""
    found: dict[str, Caution] = {}
    for step in steps:
        found |= {caution.name: caution for caution in step.cautions}
    return [{"words": caution.words, "source": caution.source} for caution in found.values()]


def _item(item: Item) -> Words:
    return {"words": item.words, "note": item.note}


def _taken(taken: PartTaken, plan: Plan) -> str:
    if taken.unit == "m":
        return f"{show(taken.quantity, 'length', plan.yard.units)} {taken.part}"
    return f"{taken.quantity:.0f} {taken.part}"


def _labour(work: Work, plan: Plan) -> str:
    """One line of a duration's working: quantity times the time of one."""
    unit = f"{work.per} in {work.ground}" if work.ground else work.per
    metric = plan.yard.units == "metric" or work.per != "metre"
    number = f"{work.quantity:.1f} × {unit}" if work.per == "metre" else f"{work.quantity:.0f} × {unit}"
    if not metric:
        number = f"{number} ({show(work.quantity, 'length', plan.yard.units)})"
    low, likely, high = (value / 60 for value in (work.each.low, work.each.likely, work.each.high))
    return f"{number} at {low:g} / {likely:g} / {high:g} min ({work.source})"


def _three(takes: Estimate) -> str:
    return f"{takes.low / HOUR:.1f} / {takes.likely / HOUR:.1f} / {takes.high / HOUR:.1f} h"


def _waiting(days: Estimate) -> str:
    return f"{days.low:g} / {days.likely:g} / {days.high:g} days"


def _when(time: StepTime) -> str:
    if time.begins is None or time.ends is None:
        return "done"
    return (
        short_date(time.begins) if time.begins == time.ends else f"{short_date(time.begins)} to {short_date(time.ends)}"
    )


def _hours(seconds: float) -> str:
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def long_date(day: date) -> str:
    """A date with its weekday: 'Saturday 8 May 2027'."""
    return f"{day:%A} {day.day} {day:%B %Y}"


def short_date(day: date) -> str:
    """A date in few letters: 'Sat 8 May'."""
    return f"{day:%a} {day.day} {day:%b}"


def _once(texts: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(texts))
