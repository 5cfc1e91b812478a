"""What a check of a finished plan is, and what it may look at."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from rillwright.model.findings import Finding
from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.physics.units import show

__all__ = ["SLACK", "Check", "Inspection"]

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


Check = Callable[[Inspection], Iterator[Finding]]
