"""Workings of the parts list and the cost."""

from collections.abc import Iterator

from rillwright.model.plan import PartLine, Plan
from rillwright.physics.units import show, to_system, unit_name
from rillwright.report.workings.bought import counted
from rillwright.report.workings.working import Given, Working

__all__ = ["cost_workings", "part_cost", "unit_price"]


def unit_price(line: PartLine, plan: Plan) -> float:
    """Price of one unit as the yard counts it: a piece, a foot or a metre."""
    return line.price / to_system(1.0, "length", plan.yard.units) if line.unit == "m" else line.price


def part_cost(line: PartLine) -> float:
    """What has still to be paid for a line [currency]."""
    return max(0.0, line.quantity - line.owned) * line.price


def cost_workings(plan: Plan) -> Iterator[Working]:
    """Workings of every line of the parts list and of the sums."""
    for line in plan.parts:
        yield from _part(line, plan)
    if plan.cost is None:
        return
    money = f"({plan.yard.currency})"
    lines = tuple(Given(line.part, f"{part_cost(line):.2f}", f"part.{line.id}.cost") for line in plan.parts)
    bought = sum(part_cost(line) for line in plan.parts)
    yield Working(
        "cost.parts", f"Parts {money}", plan.cost.parts, "money", "sum over the parts list", lines, "prices", bought
    )
    dug = sum(trench.cost for trench in plan.trenches)
    trenches = tuple(Given(t.id, f"{t.cost:.2f}", f"trench.{t.id}.cost") for t in plan.trenches)
    yield Working(
        "cost.trenches", f"Trenches {money}", plan.cost.trenches, "money", "sum of the trenches", trenches, "", dug
    )
    terms = [
        Given("parts", f"{plan.cost.parts:.2f}", "cost.parts"),
        Given("trenches", f"{plan.cost.trenches:.2f}", "cost.trenches"),
    ]
    moved = sum(use.moving_cost for use in plan.existing)
    if plan.existing:
        for use in plan.existing:
            key = f"existing.{use.id}"
            if use.length:
                formula = "length of it that pipes of the plan run along"
                yield Working(
                    f"{key}.length", f"{use.id}: kept", use.length, "length", formula, (), "the plan's geometry"
                )
            if not use.kept_as:
                title = f"{use.id}: moving {money}"
                yield Working(f"{key}.moving", title, use.moving_cost, "money", "stated by the owner", (), "yard")
        left = tuple(
            Given(use.id, f"{use.moving_cost:.2f}", f"existing.{use.id}.moving")
            for use in plan.existing
            if not use.kept_as
        )
        formula = "sum of the moving costs of what is in the ground and not kept"
        title = f"Moving what is in the ground {money}"
        yield Working("cost.moving", title, plan.cost.moving, "money", formula, left, "yard", moved)
        terms.append(Given("moving", f"{plan.cost.moving:.2f}", "cost.moving"))
    formula = " + ".join(term.name for term in terms)
    whole = bought + dug + moved
    yield Working("cost.total", f"Total {money}", plan.cost.total, "money", formula, tuple(terms), "", whole)
    if plan.cost.budget is not None:
        yield Working("cost.budget", f"Budget {money}", plan.cost.budget, "money", "stated by the owner", (), "yard")


def _part(line: PartLine, plan: Plan) -> Iterator[Working]:
    key, system, money = f"part.{line.id}", plan.yard.units, f"({plan.yard.currency})"
    dimension = "length" if line.unit == "m" else "count"
    unit = unit_name("length", system) if line.unit == "m" else "piece"
    yield from counted(line, plan, key)
    yield Working(
        f"{key}.owned",
        f"{line.part}: already bought",
        line.owned,
        dimension,
        "stated by the owner, or in the ground and kept",
        (),
        "yard",
    )
    price = unit_price(line, plan)
    yield Working(
        f"{key}.price", f"{line.part}: price of one {unit} {money}", price, "money", "price list", (), line.price_source
    )
    yield Working(
        f"{key}.cost",
        f"{line.part}: cost {money}",
        part_cost(line),
        "money",
        "(quantity - already bought) · price",
        (
            Given("quantity", show(line.quantity, dimension, system), f"{key}.quantity"),
            Given("already bought", show(line.owned, dimension, system), f"{key}.owned"),
            Given("price", f"{price:.4g} per {unit}", f"{key}.price"),
        ),
        line.price_source,
        max(0.0, to_system(line.quantity - line.owned, dimension, system)) * price,
    )
