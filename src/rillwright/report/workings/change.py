"""Workings of the change that a plan is what becomes of: what it costs against finishing the plan before as drawn."""

from collections.abc import Iterator

from rillwright.model.change import Change, ChangedPart
from rillwright.model.guide import Estimate
from rillwright.model.plan import Plan
from rillwright.model.undoing import Task, hours_of
from rillwright.physics.units import show
from rillwright.report.workings.working import Given, Working

__all__ = ["change_workings"]

_SOURCE = "docs/theory/replan.md"


def change_workings(plan: Plan) -> Iterator[Working]:
    """Workings of the change's sums and of every task; none where the plan is no change."""
    change = plan.change
    if change is None:
        return
    unit = f"({plan.yard.currency})"
    yield from _money(change, unit)
    yield from _hours(change, plan, unit)
    terms = (
        Given("money", f"{change.money:.2f}", "change.money"),
        Given("hours at their price", f"{change.worth:.2f}", "change.worth"),
        Given("thrown away", f"{change.undoing.lost:.2f}", "change.thrown"),
    )
    whole = change.money + change.worth + change.undoing.lost
    formula = "money + hours at their price + thrown away"
    yield Working("change.total", f"Change {unit}", change.total, "money", formula, terms, _SOURCE, whole)
    bound = (
        "least that any branch of the search could still come to" if change.status == "feasible" else "the search ended"
    )
    title = f"No change of the moves tried costs less than {unit}"
    yield Working("change.bound", title, change.bound, "money", bound, (), _SOURCE)
    formula = "sum over zones: water that the lawn uses up in a usual week of the peak / what the zone puts on; pauses"
    title = "Watering in a usual week of the peak"
    yield Working("change.needed", title, change.needed, "hours", formula, (), "docs/theory/water.md")
    if change.reading is not None:
        formula = (
            "share of readings simulated from the draws after which another change is the cheapest that is sure enough"
        )
        title = f"Chance that another change is the best after: {change.reading.what}"
        yield Working("change.reading", title, change.reading.changes, "share", formula, (), _SOURCE)
    if change.holds is not None:
        draws = plan.certainty.draws if plan.certainty else 0
        formula = f"share of {draws} draws of the whole yard in which every head is inside its pressure band"
        yield Working(
            "change.holds", "Chance that it holds", change.holds.value, "share", formula, (), "docs/theory/certainty.md"
        )


def _money(change: Change, unit: str) -> Iterator[Working]:
    bought = sum(part.cost for part in (*change.bought, *change.extras))
    formula = "sum over parts: price · (quantity to buy for the change - quantity to buy to finish as drawn)"
    given = _parts((*change.bought, *change.extras))
    yield Working("change.parts", f"Parts to buy {unit}", change.parts, "money", formula, given, "prices", bought)
    dug = sum(t.cost for t in change.fresh) - sum(t.cost for t in change.saved)
    given = (
        *(Given(f"{t.trench}, {t.surface}, dug", f"{t.cost:.2f}") for t in change.fresh),
        *(Given(f"{t.trench}, {t.surface}, not dug", f"-{t.cost:.2f}") for t in change.saved),
    )
    formula = "trenches dug for it - trenches of the plan that need not be dug"
    yield Working("change.trenches", f"Trenches {unit}", change.trenches, "money", formula, given, "trench prices", dug)
    again = sum(t.cost for t in change.undoing.dug_up)
    given = tuple(Given(f"{t.trench}, {t.surface}", f"{t.cost:.2f}") for t in change.undoing.dug_up)
    formula = "closed trenches over new pipe, each at what it cost to dig"
    yield Working(
        "change.dug-up", f"Dug up again {unit}", change.undoing.again, "money", formula, given, _SOURCE, again
    )
    lost = sum(part.cost for part in change.undoing.thrown)
    formula = (
        "sum over parts: what was paid and comes not back · quantity that is paid for, or in the ground, and not used"
    )
    given = _parts(change.undoing.thrown)
    yield Working("change.thrown", f"Thrown away {unit}", change.undoing.lost, "money", formula, given, "the log", lost)
    terms = (
        Given("parts", f"{change.parts:.2f}", "change.parts"),
        Given("trenches", f"{change.trenches:.2f}", "change.trenches"),
        Given("dug up again", f"{change.undoing.again:.2f}", "change.dug-up"),
    )
    formula = "parts + trenches + dug up again"
    yield Working("change.money", f"Money {unit}", change.money, "money", formula, terms, "", bought + dug + again)


def _parts(parts: tuple[ChangedPart, ...]) -> tuple[Given, ...]:
    return tuple(Given(f"{part.part}, {part.quantity:.4g} {part.unit}", f"{part.cost:.2f}") for part in parts)


def _hours(change: Change, plan: Plan, unit: str) -> Iterator[Working]:
    tasks = {
        task.task: Task(Estimate(low=task.low, likely=task.likely, high=task.high), task.source)
        for task in change.tasks
    }
    hours = hours_of({task.task: task.amount for task in change.tasks}, tasks)
    given: list[Given] = []
    for task in change.tasks:
        points = " / ".join(f"{value / 3600:.3g}" for value in (task.low, task.likely, task.high))
        given.append(
            Given(
                f"{task.task}: {task.amount:.4g} of {points} h each",
                f"{task.amount * tasks[task.task].each.mean / 3600:.2f} h",
            )
        )
    formula = "sum over tasks: amount · (least + 4 · likeliest + most) / 6"
    source = "data/labour.csv, judgement; three-point estimate, from memory"
    yield Working("change.hours", "Working hours", change.hours, "hours", formula, tuple(given), source, hours.mean)
    formula = "root of the sum of squares over tasks: amount · (most - least) / 6"
    title = "Standard error of the working hours"
    yield Working(
        "change.hours-spread", title, change.hours_spread, "hours", formula, tuple(given), source, hours.spread
    )
    price = 3600 * change.hour_price
    terms = (
        Given("hours", show(change.hours, "hours", plan.yard.units), "change.hours"),
        Given("price of an hour", f"{price:.2f}"),
    )
    again = change.hours / 3600 * price
    yield Working(
        "change.worth", f"Hours at their price {unit}", change.worth, "money", "hours · price", terms, "", again
    )
