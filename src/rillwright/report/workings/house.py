"""Workings of what runs in the house meanwhile, and of the water meter."""

from collections.abc import Iterator

from rillwright.model.plan import Plan, Zone
from rillwright.model.site import HOUSE_FLOWS
from rillwright.physics.units import show
from rillwright.report.workings.working import SUPPLY, Given, Working

__all__ = ["house_workings"]

_LAW = "flow: US Energy Policy Act of 1992, shower 2.5 gpm at 80 psi, tap 2.2 gpm at 60 psi, from memory"


def house_workings(plan: Plan) -> Iterator[Working]:
    """Workings of the safe flow left, and the pressure at the entry, with each use running in the house."""
    least = min((limit.flow for limit in plan.supply.limits), default=0.0)
    thirstiest = max(plan.zones, key=lambda zone: zone.flow, default=None)
    for number, (use, flow) in enumerate(HOUSE_FLOWS.items(), start=1):
        drawn = flow + plan.yard.rules.house_reserve
        yield _left(number, use, drawn, least, plan)
        if thirstiest is not None:
            yield _pressure(number, use, drawn, thirstiest, plan)
    if plan.supply.meter_factor is not None:
        yield _meter(plan.supply.meter_factor, plan)


def _left(number: int, use: str, drawn: float, least: float, plan: Plan) -> Working:
    system = plan.yard.units
    limits = [
        Given(f"limit: {m.name}", show(m.flow, "flow", system), f"supply.limit.{m.name}") for m in plan.supply.limits
    ]
    return Working(
        f"house.{number}.safe-flow",
        f"Safe flow with {use} on in the house",
        max(0.0, least - drawn),
        "flow",
        "least of the limits, less what runs in the house",
        (*limits, Given("runs in the house", show(drawn, "flow", system))),
        f"{_LAW}; {SUPPLY}",
        max(0.0, least - drawn),
    )


def _pressure(number: int, use: str, drawn: float, zone: Zone, plan: Plan) -> Working:
    s, system = plan.supply, plan.yard.units
    value = s.expected.pressure(zone.flow + drawn)
    return Working(
        f"house.{number}.pressure",
        f"Pressure at the entry while {zone.id} runs and {use} is on in the house",
        value,
        "pressure",
        "P(Q) = static - k Q^n on the expected curve, Q the zone's flow and the house's together",
        (
            Given(f"flow of {zone.id}", show(zone.flow, "flow", system), f"zone.{zone.id}.flow"),
            Given("runs in the house", show(drawn, "flow", system)),
            Given("static", show(s.expected.static, "pressure", system), "supply.static"),
        ),
        f"{_LAW}; {SUPPLY}",
        value,
    )


def _meter(factor: float, plan: Plan) -> Working:
    s, system = plan.supply, plan.yard.units
    drawn = s.safe_flow + plan.yard.rules.reserve
    return Working(
        "supply.meter-loss",
        "Loss in the water meter at the safe flow",
        factor * drawn**2,
        "pressure",
        "k Q², through the loss at the meter's safe maximum; part of the supply curve, not lost once more",
        (
            Given("safe flow", show(s.safe_flow, "flow", system), "supply.safe-flow"),
            Given("held back for the house", show(plan.yard.rules.reserve, "flow", system)),
            Given("k [Pa/(m³/s)²]", f"{factor:.4g}"),
        ),
        "AWWA C700 table 1, from memory",
        factor * drawn**2,
    )
