"""Workings of the water supply: curve, limits, safe flow, measurements."""

from collections.abc import Iterator

from rillwright.model.plan import MeasuredPoint, Plan, SupplyCurve
from rillwright.physics.units import show
from rillwright.report.workings.working import HYDRAULICS, SUPPLY, Given, Working

__all__ = ["curve_given", "supply_workings"]

_FIT = f"fit to the measurements, {SUPPLY}"


def curve_given(curve: SupplyCurve, plan: Plan) -> tuple[Given, ...]:
    """The three numbers of a supply curve."""
    well = plan.yard.water_entry.well is not None
    cap = "at the most, where the pump starts again" if well else "at the most, behind the pressure reducing valve"
    capped = [] if curve.cap is None else [Given(cap, show(curve.cap, "pressure", plan.yard.units))]
    return (
        Given("static", show(curve.static, "pressure", plan.yard.units)),
        Given("k [Pa/(m³/s)^n]", f"{curve.factor:.4g}"),
        Given("n", f"{curve.exponent:.3f}"),
        *capped,
    )


def supply_workings(plan: Plan) -> Iterator[Working]:
    """Workings of the supply report."""
    s, system = plan.supply, plan.yard.units
    yield from _safe_flow(plan)
    yield _reference(plan)
    curve = curve_given(s.expected, plan)
    yield Working(
        "supply.static",
        "Shutoff pressure of the pump, at the entry" if plan.yard.water_entry.well else "Static pressure at the entry",
        s.expected.static,
        "pressure",
        "P(Q) = static - k Q^n, fitted",
        curve,
        _FIT,
        s.expected.model_copy(update={"cap": None}).pressure(0.0),
    )
    formula = "Q = (static / k)^(1/n), median over the fitted draws"
    yield Working(
        "supply.open-flow", "Flow of the open pipe, at no pressure", s.open_flow, "flow", formula, curve, _FIT
    )
    needed = Given("pressure needed P", show(s.reference_pressure, "pressure", system), "supply.reference-pressure")
    for name, value, words in (
        ("flow-low", s.flow_low, "5 % quantile"),
        ("flow-median", s.flow_median, "median"),
        ("flow-high", s.flow_high, "95 % quantile"),
    ):
        formula = f"Q = ((static - P) / k)^(1/n) for each fitted draw; {words}"
        yield Working(
            f"supply.{name}", f"Flow at the needed pressure, {words}", value, "flow", formula, (needed, *curve), _FIT
        )
    for number, point in enumerate(s.measured, start=1):
        yield from _measured(point, number)


def _safe_flow(plan: Plan) -> Iterator[Working]:
    s, system = plan.supply, plan.yard.units
    reserve = plan.yard.rules.reserve
    least = min((limit.flow for limit in s.limits), default=0.0)
    yield Working(
        "supply.safe-flow",
        "Safe working flow",
        s.safe_flow,
        "flow",
        "least of the limits, less what is held back for the house",
        (
            *(Given(f"limit: {m.name}", show(m.flow, "flow", system), f"supply.limit.{m.name}") for m in s.limits),
            Given("held back", show(reserve, "flow", system)),
            Given("binds", s.binds),
        ),
        SUPPLY,
        max(0.0, least - reserve),
    )
    for limit in s.limits:
        given = [Given(name, value) for name, value in limit.inputs.items()]
        if limit.name == "curve":
            needed = show(s.reference_pressure, "pressure", system)
            given.append(Given("needed by the plan", needed, "supply.reference-pressure"))
            given += curve_given(s.cautious, plan)
        yield Working(
            f"supply.limit.{limit.name}",
            f"Limit on the flow: {limit.name}",
            limit.flow,
            "flow",
            limit.formula,
            tuple(given),
            limit.source,
        )


def _reference(plan: Plan) -> Working:
    """The pressure at which the supply is reported: what the zone that draws the most needs."""
    s, system = plan.supply, plan.yard.units
    key, title = "supply.reference-pressure", "Pressure needed at the entry"
    if not plan.zones:
        formula = "no zone could be made: a usual pressure stands in its place"
        source = "common practice, no source"
        return Working(key, title, s.reference_pressure, "pressure", formula, (), source)
    zone = max(plan.zones, key=lambda z: z.flow)
    needed = Given(
        f"needed by {zone.id}", show(zone.needed_pressure, "pressure", system), f"zone.{zone.id}.needed-pressure"
    )
    reserve = plan.yard.rules.reserve
    at_safe = s.cautious.pressure(zone.safe_flow + reserve)
    if zone.safe_binds != "curve":
        formula = (
            "need of the zone that draws the most, or what the cautious curve has at its safe flow if that is less"
        )
        given = (needed, Given("cautious curve, at the safe flow", show(at_safe, "pressure", system)))
        again = min(zone.needed_pressure, at_safe)
        return Working(key, title, s.reference_pressure, "pressure", formula, given, HYDRAULICS, again)
    return Working(
        key,
        title,
        s.reference_pressure,
        "pressure",
        "P(Q) = static - k Q^n on the cautious curve, at the safe flow of the zone that draws the most plus what "
        "is held back for the house: what that zone was allowed to need",
        (
            Given(f"safe flow of {zone.id}", show(zone.safe_flow, "flow", system), f"zone.{zone.id}.safe-flow"),
            Given("held back", show(reserve, "flow", system)),
            *curve_given(s.cautious, plan),
            needed,
        ),
        SUPPLY,
        at_safe,
    )


def _measured(point: MeasuredPoint, number: int) -> Iterator[Working]:
    given = tuple(Given(name, value) for name, value in point.inputs.items())
    yield Working(
        f"measured.{number}.flow", f"{point.label}: flow", point.flow, "flow", point.formula, given, "measured"
    )
    yield Working(
        f"measured.{number}.pressure",
        f"{point.label}: pressure",
        point.pressure,
        "pressure",
        point.formula,
        given,
        "measured",
    )
