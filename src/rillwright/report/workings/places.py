"""Workings of the valve places."""

from collections.abc import Iterator

from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.workings.working import Given, Working

__all__ = ["place_workings"]


def place_workings(plan: Plan) -> Iterator[Working]:
    """Workings of every valve place."""
    system = plan.yard.units
    for place in plan.places:
        key = f"place.{place.id}"
        formula = "surface through the spot heights, at the place"
        given = tuple(Given(name, show(value, "length", system)) for name, value in zip("xy", place.at, strict=True))
        yield Working(f"{key}.ground", f"{place.id}: ground", place.ground, "length", formula, given, "spot heights")
        yield Working(
            f"{key}.highest-outlet",
            f"{place.id}: highest outlet or pipe",
            place.highest_outlet,
            "length",
            "greatest height of nozzles and pipes fed from here",
            (Given("zones", ", ".join(place.zones)),),
            "spot heights and the height of the pop-up",
        )
        if place.device_height is None:
            continue
        yield Working(
            f"{key}.device-height",
            f"{place.id}: critical level over the ground",
            place.device_height,
            "length",
            "highest outlet + clearance of the kind - ground, at least the kind's height over the ground",
            (
                Given("kind", place.backflow),
                Given("highest outlet", show(place.highest_outlet, "length", system), f"{key}.highest-outlet"),
                Given("ground", show(place.ground, "length", system), f"{key}.ground"),
            ),
            "ASSE 1001, 1013, 1015, 1020; local code rules",
        )
