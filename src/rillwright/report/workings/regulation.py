"""Workings of pressure regulation."""

from collections.abc import Iterator

from rillwright.model.plan import Plan
from rillwright.model.regulation import FALL_OFF, REGULATORS
from rillwright.physics.units import show
from rillwright.report.workings.working import HYDRAULICS, Given, Working

__all__ = ["regulation_workings"]


def regulation_workings(plan: Plan) -> Iterator[Working]:
    """Workings of each zone's highest pressures, and of what each way to take them down costs."""
    found, system = plan.regulation, plan.yard.units
    if found is None:
        return
    if found.lets_through is not None:
        yield Working(
            "regulation.lets-through",
            "Pressure behind the pressure reducing valve while water runs",
            found.lets_through,
            "pressure",
            "setting with nothing running - what it gives less while water runs",
            (
                Given("setting", show(found.lets_through + FALL_OFF, "pressure", system)),
                Given("less while water runs", show(FALL_OFF, "pressure", system)),
            ),
            "typical of the class, from memory",
        )
    for zone in found.zones:
        key = f"regulation.{zone.zone}"
        for name, title, value, formula in (
            ("limit", "where its first nozzle mists", zone.limit, "end of the nozzle's chart"),
            ("by-hand", "highest head, flow control alone", zone.by_hand, "supply at the top of its band, as set"),
            ("after", "highest head, as planned", zone.after, "supply at the top of its band, regulation built in"),
        ):
            yield Working(f"{key}.{name}", f"{zone.zone}: {title}", value, "pressure", formula, (), HYDRAULICS)
    for option in found.options:
        yield Working(
            f"regulation.at-{option.at}",
            f"{REGULATORS[option.at]}: cost ({plan.yard.currency})",
            option.cost,
            "money",
            "pieces · price",
            (Given("pieces", str(option.pieces)), Given("price", f"{option.price:.2f}")),
            "prices",
            option.pieces * option.price,
        )
