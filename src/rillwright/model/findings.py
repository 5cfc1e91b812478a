"""Findings: what a check has to say, and ways out: priced remedies when a plan does not fit."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

__all__ = ["Finding", "Proof", "Severity", "WayOut"]

Severity = Literal["must", "should", "know"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Finding(_Frozen):
    """One thing a reader must mend ('must'), had better mend ('should') or ought to know ('know')."""

    rule: str  # name of the check, e.g. 'head-pressure'
    severity: Severity
    where: str  # id of a head, zone, pipe, lawn, or 'supply', 'yard'
    what: str  # what is wrong and by how much, in the yard's units
    do: str  # what to do about it
    source: str = "common practice, no source"


class WayOut(_Frozen):
    """A change of the yard's terms under which the plan fits (or still does not), solved and priced."""

    change: str  # e.g. 'Controller with 10 stations'
    fits: bool
    zones: int | None  # zones of the changed plan
    cost: float | None  # whole cost of the changed plan [currency]
    extra: float | None  # added by the change itself, included in cost [currency]
    note: str = ""


class Proof(_Frozen):
    """How a solver ended: its value, the best bound known, and the gap between them."""

    stage: str  # e.g. 'zones: fewest', 'sizes: back lawn'
    status: Literal["optimal", "feasible", "infeasible", "heuristic"]
    value: float
    bound: float | None  # None when the method gives none
    method: str

    @property
    def gap(self) -> float | None:
        """Relative distance from value to bound; 0 when proven optimal."""
        if self.bound is None:
            return None
        return abs(self.value - self.bound) / max(abs(self.value), 1e-12)
