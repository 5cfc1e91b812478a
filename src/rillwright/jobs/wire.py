"""The control wire of a plan."""

from rillwright.jobs.checks.inspection import Inspection
from rillwright.jobs.checks.wire import WIRE_CHECKS
from rillwright.model.findings import Finding
from rillwright.model.ground import resolve_ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.wire import WirePlan, WireTerms
from rillwright.solvers.wire import plan_wire, wire_price, wire_terms

__all__ = ["wire_findings", "wire_of"]


def wire_of(plan: Plan, catalogue: Catalogue, terms: WireTerms | None = None) -> WirePlan | None:
    """Plan the wire of a plan, by its yard's terms or others; None without valves."""
    mains = [pipe for pipe in plan.pipes if pipe.role == "main"]
    return plan_wire(
        yard=plan.yard,
        mains=mains,
        places=plan.places,
        terms=terms or wire_terms(plan.yard),
        price=wire_price(catalogue),
    )


def wire_findings(plan: Plan, wire: WirePlan, catalogue: Catalogue) -> tuple[Finding, ...]:
    """What the checks say of a plan with another wire."""
    case = Inspection(plan.model_copy(update={"wire": wire}), resolve_ground(plan.yard), catalogue)
    return tuple(finding for check in WIRE_CHECKS for finding in check(case))
