"""What one working holds."""

from dataclasses import dataclass
from typing import NamedTuple

from rillwright.model.plan import Plan
from rillwright.physics.units import show

__all__ = ["COVERAGE", "HYDRAULICS", "SUPPLY", "Given", "Working"]

COVERAGE = "water thrown by every head, summed on a grid of cells; docs/theory/coverage.md"
HYDRAULICS = "network solved with the supply curve, every pipe, device and nozzle; docs/theory/hydraulics.md"
SUPPLY = "docs/theory/supply.md"


class Given(NamedTuple):
    """One input of a working."""

    name: str
    value: str  # as printed
    key: str = ""  # of its own working, when it is a number of the plan


@dataclass(frozen=True, slots=True)
class Working:
    """How one number came about."""

    key: str
    title: str
    value: float  # SI
    dimension: str  # key of units.DIMENSIONS
    formula: str
    inputs: tuple[Given, ...] = ()
    source: str = ""
    again: float | None = None  # the number recomputed from the formula, SI; None when a solver or the user gave it

    def printed(self, plan: Plan) -> str:
        """The value in the yard's units."""
        return show(self.value, self.dimension, plan.yard.units)
