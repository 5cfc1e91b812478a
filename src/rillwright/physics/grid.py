"""Lengths as whole numbers of the finest mark on a tape: 1/16 in or 1 mm. Their sums are exact."""

import math
from dataclasses import dataclass
from fractions import Fraction

from rillwright.physics.units import INCH, System

__all__ = ["GRIDS", "Grid"]

_SLACK = 1e-9  # of a mark: a length this near to a mark is on it


@dataclass(frozen=True, slots=True)
class Grid:
    """The marks of a tape."""

    mark: float  # [m] from one mark to the next
    system: System

    @property
    def unit(self) -> str:
        """Unit that lengths are printed in."""
        return "mm" if self.system == "metric" else "in"

    def near(self, length: float) -> int:
        """Number of marks nearest to a length [m].

        >>> GRIDS["US"].near(0.0254), GRIDS["metric"].near(0.0254)
        (16, 25)
        """
        return round(length / self.mark)

    def up(self, length: float) -> int:
        """Least number of marks that is no shorter than a length [m]; a length on a mark stays.

        >>> GRIDS["US"].up(0.0254), GRIDS["metric"].up(0.0254)
        (16, 26)
        """
        return math.ceil(length / self.mark - _SLACK)

    def metres(self, marks: int) -> float:
        """Length [m] of a number of marks."""
        return marks * self.mark

    def show(self, marks: int) -> str:
        """Print a number of marks as a tape reads.

        >>> GRIDS["US"].show(83), GRIDS["US"].show(-8), GRIDS["metric"].show(132)
        ('5-3/16 in', '-1/2 in', '132 mm')
        """
        if self.system == "metric":
            return f"{marks} {self.unit}"
        whole, part = divmod(abs(marks), 16)
        parts = [str(whole)] * (whole > 0 or part == 0) + [str(Fraction(part, 16))] * (part > 0)
        return f"{'-' * (marks < 0)}{'-'.join(parts)} {self.unit}"


GRIDS: dict[System, Grid] = {"US": Grid(INCH / 16, "US"), "metric": Grid(1e-3, "metric")}
