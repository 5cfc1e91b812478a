"""What a check of a finished plan is, and what it may look at."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from rillwright.model.findings import Finding
from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.regulation import FALL_OFF
from rillwright.physics.units import show

__all__ = ["SLACK", "Check", "Inspection", "highest_static"]

SLACK = 1.002  # on limits that a solver meets exactly


@dataclass(frozen=True, slots=True)
class Inspection:
    """What a check may look at."""

    plan: Plan
    ground: Ground
    catalogue: Catalogue

    def show(self, value: float, dimension: str) -> str:
        """Print in the yard's units."""
        return show(value, dimension, self.plan.yard.units)


def highest_static(plan: Plan) -> float:
    """Pressure [Pa] that may stand in the main at the entry's level with nothing running."""
    if plan.yard.water_entry.well is not None:
        return plan.yard.water_entry.well.cut_out
    street = plan.supply.curve[0].high
    through = plan.supply.expected.cap
    return street if through is None else min(street, through + FALL_OFF)


Check = Callable[[Inspection], Iterator[Finding]]
