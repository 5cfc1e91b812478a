"""The control wire of a plan."""

from rillwright.jobs.inspection import Inspection
from rillwright.jobs.wire_checks import WIRE_CHECKS
from rillwright.model.findings import Finding
from rillwright.model.ground import resolve_ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.site import Yard
from rillwright.model.wire import Gauge, WirePlan, WireTerms
from rillwright.solvers.wire import plan_wire, wire_part

__all__ = ["wire_findings", "wire_of", "wire_terms"]


def wire_terms(yard: Yard) -> WireTerms:
    """What a yard says of its wire; the rest as usual."""
    return WireTerms(
        inrush=yard.valves.inrush,
        holding=yard.valves.holding,
        at_once=yard.controller.valves_at_once,
        transformer=yard.controller.transformer,
        surge_ground=yard.controller.surge_ground,
    )


def wire_of(plan: Plan, catalogue: Catalogue, terms: WireTerms | None = None) -> WirePlan | None:
    """Plan the wire of a plan, by its yard's terms or others; None without valves."""

    def price(gauge: Gauge) -> float:
        return catalogue.prices[wire_part(gauge)].price

    mains = [pipe for pipe in plan.pipes if pipe.role == "main"]
    return plan_wire(yard=plan.yard, mains=mains, places=plan.places, terms=terms or wire_terms(plan.yard), price=price)


def wire_findings(plan: Plan, wire: WirePlan, catalogue: Catalogue) -> tuple[Finding, ...]:
    """What the checks say of a plan with another wire."""
    case = Inspection(plan.model_copy(update={"wire": wire}), resolve_ground(plan.yard), catalogue)
    return tuple(finding for check in WIRE_CHECKS for finding in check(case))
