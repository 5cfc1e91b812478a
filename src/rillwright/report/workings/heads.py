"""Workings of the heads: place, pressure, flow, throw, arc."""

from collections.abc import Iterator

from rillwright.model.plan import Head, NozzleUsed, Plan
from rillwright.physics.units import show
from rillwright.report.workings.working import HYDRAULICS, Given, Working

__all__ = ["head_workings"]

_COVERAGE = "docs/theory/coverage.md"


def head_workings(plan: Plan) -> Iterator[Working]:
    """Workings of every head."""
    laws = {nozzle.id: nozzle for nozzle in plan.nozzles}
    zone_of = {head: zone.id for zone in plan.zones for head in zone.heads}
    for head in plan.heads:
        yield from _stand(head, plan)
        yield from _pressure(head, zone_of.get(head.id), plan)
        yield from _outflow(head, laws[head.nozzle], plan)


def _stand(head: Head, plan: Plan) -> Iterator[Working]:
    system = plan.yard.units
    for axis, value in zip("xy", head.at, strict=True):
        formula = "stand chosen by the search for even water"
        given = (Given("lawn", head.lawn, f"lawn.{head.lawn}.du"),)
        yield Working(f"head.{head.id}.{axis}", f"{head.id}: {axis}", value, "length", formula, given, _COVERAGE)
    yield Working(
        f"head.{head.id}.arc",
        f"{head.id}: arc",
        head.arc,
        "angle",
        "set to face the lawn and to keep water off buildings and paving; 0 for a strip pattern",
        (Given("starts at", show(head.arc_start, "angle", system)),),
        _COVERAGE,
    )


def _pressure(head: Head, zone: str | None, plan: Plan) -> Iterator[Working]:
    system = plan.yard.units
    solved = () if zone is None else (Given("zone", zone, f"zone.{zone}.pressure-low"),)
    yield Working(
        f"head.{head.id}.pressure",
        f"{head.id}: pressure at the nozzle",
        head.pressure,
        "pressure",
        "solved with its zone running" if zone else "design pressure of the class: not solved",
        (*solved, Given("height of the ground", show(head.ground, "length", system))),
        HYDRAULICS,
    )


def _outflow(head: Head, law: NozzleUsed, plan: Plan) -> Iterator[Working]:
    system, key = plan.yard.units, f"head.{head.id}"
    pressure = Given("pressure p", show(head.pressure, "pressure", system), f"{key}.pressure")
    nozzle = Given("nozzle", head.nozzle)
    shared = law.flow_follows_arc and head.arc > 0
    turned = law.flow_follows_radius and head.radius_share < 1.0
    share = (head.arc / law.reference_arc if shared else 1.0) * (head.radius_share**2 if turned else 1.0)
    arcs = (
        Given("arc", show(head.arc, "angle", system), f"{key}.arc"),
        Given("reference arc", show(law.reference_arc, "angle", system)),
    )
    yield Working(
        f"{key}.flow",
        f"{head.id}: flow",
        head.flow,
        "flow",
        "q = K p^x" + (" · arc / reference arc" if shared else "") + (" · share of the throw²" if turned else ""),
        (
            pressure,
            nozzle,
            Given("K [m³/s/Pa^x]", f"{law.coefficient:.5g}"),
            Given("x", f"{law.exponent:.3f}"),
            *(arcs if shared else ()),
        ),
        law.source,
        share * law.coefficient * head.pressure**law.exponent,
    )
    chart = head.radius / head.radius_share if head.radius_share else head.radius
    yield Working(
        f"{key}.radius",
        f"{head.id}: throw",
        head.radius,
        "length",
        "chart radius at the pressure · share it is turned down to",
        (
            pressure,
            nozzle,
            Given("chart radius", show(chart, "length", system)),
            Given("turned down to", f"{100 * head.radius_share:.0f} %"),
        ),
        law.source,
        chart * head.radius_share,
    )
