"""Workings of a build guide: its days, its work, its finish band, its rented machine, and every step's time."""

from collections.abc import Iterator
from datetime import date

from rillwright.model.guide import Guide, Step, StepTime
from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.workings.working import Given, Working

__all__ = ["guide_workings"]

_SOURCE = "docs/theory/building.md"
_PERT = "three-point estimate: Malcolm, Roseboom, Clark and Fazar (1959), from memory"
_CHANCES = {"early": 0.1, "middle": 0.5, "late": 0.9}


def guide_workings(guide: Guide, plan: Plan) -> Iterator[Working]:
    """Workings of what a guide's page and sheets print. Parameters: plan, that the guide is of."""
    yield from _progress(guide, plan)
    if guide.finish is not None:
        yield from _finish(guide, guide.finish)
    yield from _rentals(guide, plan)
    times = {time.step: time for time in guide.times}
    for step in guide.steps:
        yield from _step(step, times[step.id], guide, plan)


def _progress(guide: Guide, plan: Plan) -> Iterator[Working]:
    items = sum(len(step.items) for step in guide.steps)
    ticked = sum(len(s.items) * t.share_done for s, t in zip(guide.steps, guide.times, strict=True))
    given = (Given("items", f"{items}"), Given("done", f"{ticked:.0f}"))
    formula = "items ticked off, or shown to be done by the log / all items"
    yield Working("guide.done", "Done", guide.share_done, "share", formula, given, "", ticked / items if items else 0.0)
    left = [time for time in guide.times if not time.done]
    terms = tuple(Given(t.step, show(t.left, "hours", plan.yard.units), f"step.{t.step}.left") for t in left)
    title = "Work left, at mean times"
    again = sum(time.left for time in left)
    yield Working("guide.work-left", title, guide.work_left, "hours", "sum over steps", terms, _SOURCE, again)
    days = float(len(guide.days))
    formula = (
        "days on which the order found has work: work left poured into the hours of each day, one step after another"
    )
    yield Working("guide.work-days", "Work days, none lost", days, "count", formula, _terms(guide), _SOURCE)
    chain = ", ".join(guide.chain)
    formula = "longest chain of steps and waits, however many people help"
    yield Working(
        "guide.least-days", "Least days", guide.least_days, "number", formula, (Given("chain", chain),), _SOURCE
    )


def _terms(guide: Guide) -> tuple[Given, ...]:
    terms = guide.terms
    return (
        Given("people", f"{terms.crew}"),
        Given("days of the week", ", ".join(terms.days)),
        Given("hours a day, at the most", f"{terms.hours:g}"),
        Given("latitude, for daylight", f"{guide.latitude:.1f}°"),
    )


def _finish(guide: Guide, finish: date) -> Iterator[Working]:
    """The finish as days after the first; the date stands in the title."""
    formula = "the order found, at mean times, no day lost to the weather"
    yield _days("guide.finish", f"Days to the finish, {finish}", finish, guide, formula)
    if guide.band is None:
        return
    for name, chance in _CHANCES.items():
        day = getattr(guide.band, name)
        formula = f"{guide.band.samples} draws of rates, waits and weather, walked through in the order found; quantile"
        yield _days(f"guide.finish-{name}", f"Days until {chance:.0%} of builds are done, {day}", day, guide, formula)
    formula = "draws that end by the finish at mean times / all draws"
    given = (Given("draws", f"{guide.band.samples}"), Given("finish", f"{finish}", "guide.finish"))
    yield Working("guide.kept", "Chance to be done by then", guide.band.planned, "share", formula, given, _SOURCE)


def _days(key: str, title: str, day: date, guide: Guide, formula: str) -> Working:
    start = Given("start", f"{guide.terms.start}")
    return Working(key, title, float((day - guide.terms.start).days), "count", formula, (start,), _SOURCE)


def _rentals(guide: Guide, plan: Plan) -> Iterator[Working]:
    for rental in guide.rentals:
        key, span = f"rental.{rental.machine}", (rental.last - rental.first).days + 1
        given = (Given("first", f"{rental.first}"), Given("last", f"{rental.last}"))
        title = f"Days of the {rental.machine}"
        yield Working(f"{key}.days", title, float(rental.days), "count", "last - first + 1", given, "", float(span))
        formula = "cheapest mix of day and week rents that covers the days in a row"
        days = (Given("days", f"{rental.days}", f"{key}.days"),)
        title = f"Rent of the {rental.machine} ({plan.yard.currency})"
        yield Working(f"{key}.cost", title, rental.cost, "money", formula, days, rental.source)


def _step(step: Step, time: StepTime, guide: Guide, plan: Plan) -> Iterator[Working]:
    key, people = f"step.{step.id}", step.people(guide.terms.crew)
    takes = step.duration(guide.terms.crew)
    given = (*_labour(step), Given("people at it", f"{people}"))
    formula = "sum over work: quantity · (least + 4 · likeliest + most) / 6, / people"
    again = sum(work.quantity * work.each.mean for work in step.work) / people
    source = "; ".join(dict.fromkeys([*(work.source for work in step.work), _PERT]))
    yield Working(f"{key}.takes", f"{step.title}: mean time", takes.mean, "hours", formula, given, source, again)
    if time.done:
        return
    given = (
        Given("mean time", show(takes.mean, "hours", plan.yard.units), f"{key}.takes"),
        Given("share of its items done", f"{time.share_done:.0%}"),
    )
    again = takes.mean * (1 - time.share_done)
    formula = "mean time · (1 - share done)"
    yield Working(f"{key}.left", f"{step.title}: left", time.left, "hours", formula, given, "", again)
    formula = "latest end that moves no finish - end, by the critical path method"
    yield Working(f"{key}.slack", f"{step.title}: days it may slip", time.slack, "number", formula, (), _SOURCE)


def _labour(step: Step) -> Iterator[Given]:
    for work in step.work:
        unit = f"{work.per} in {work.ground}" if work.ground else work.per
        points = " / ".join(f"{value / 60:g}" for value in (work.each.low, work.each.likely, work.each.high))
        yield Given(f"{work.quantity:.4g} × {unit}", f"{points} min each")
