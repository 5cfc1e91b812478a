"""Workings of the zones: flow, precipitation, and where the pressure goes."""

from collections.abc import Iterator

from rillwright.model.catalogue import setting_of
from rillwright.model.plan import Head, Plan, Zone
from rillwright.physics.units import show
from rillwright.report.workings.supply import curve_given
from rillwright.report.workings.working import COVERAGE, HYDRAULICS, SUPPLY, Given, Working

__all__ = ["zone_workings"]


def zone_workings(plan: Plan) -> Iterator[Working]:
    """Workings of every zone."""
    heads = {head.id: head for head in plan.heads}
    for zone in plan.zones:
        own = [heads[name] for name in zone.heads]
        yield from _flows(zone, own, plan)
        yield from _entry(zone, plan)
        yield from _pressures(zone, own, plan)
        yield from _steps(zone, plan)


def _flows(zone: Zone, own: list[Head], plan: Plan) -> Iterator[Working]:
    key, system = f"zone.{zone.id}", plan.yard.units
    given = tuple(Given(h.id, show(h.flow, "flow", system), f"head.{h.id}.flow") for h in own)
    total = sum(h.flow for h in own)
    yield Working(f"{key}.flow", f"{zone.id}: flow", zone.flow, "flow", "sum of its heads", given, HYDRAULICS, total)
    yield Working(
        f"{key}.safe-flow",
        f"{zone.id}: safe flow",
        zone.safe_flow,
        "flow",
        "largest flow at which the cautious supply still gives its heads their pressure, or another limit",
        (
            Given("binds", zone.safe_binds),
            *curve_given(plan.supply.cautious, plan),
            Given("needed now", show(zone.needed_pressure, "pressure", system), f"{key}.needed-pressure"),
        ),
        SUPPLY,
    )
    formula = "cells of lawn that lie nearest to one of its heads"
    given = (Given("heads", str(len(own))),)
    yield Working(f"{key}.area", f"{zone.id}: area", zone.area, "area", formula, given, COVERAGE)
    yield Working(
        f"{key}.precipitation",
        f"{zone.id}: precipitation rate",
        zone.precipitation,
        "rate",
        "flow / area",
        (
            Given("flow", show(zone.flow, "flow", system), f"{key}.flow"),
            Given("area", show(zone.area, "area", system), f"{key}.area"),
        ),
        "identity (96.25 · gpm / ft² in US units)",
        zone.flow / zone.area if zone.area > 0 else 0.0,
    )
    formula = "(most - least) / most among heads of the same nozzle and setting, the greatest"
    yield Working(
        f"{key}.flow-spread",
        f"{zone.id}: spread of flow between like heads",
        zone.flow_spread,
        "share",
        formula,
        tuple(Given(h.id, show(h.flow, "flow", system), f"head.{h.id}.flow") for h in own),
        HYDRAULICS,
        _spread(own),
    )


def _spread(own: list[Head]) -> float:
    like: dict[str, list[float]] = {}
    for head in own:
        like.setdefault(setting_of(head), []).append(head.flow)
    return max((1 - min(flows) / max(flows) for flows in like.values() if max(flows) > 0), default=0.0)


def _entry(zone: Zone, plan: Plan) -> Iterator[Working]:
    """The pressure at the entry while it runs, what the flow control takes of it, and what would do."""
    key, system = f"zone.{zone.id}", plan.yard.units
    control = zone.entry_pressure - zone.needed_pressure
    entry = Given("entry pressure", show(zone.entry_pressure, "pressure", system), f"{key}.entry-pressure")
    yield Working(
        f"{key}.entry-pressure",
        f"{zone.id}: pressure at the entry while it runs",
        zone.entry_pressure,
        "pressure",
        "P(Q) = static - k Q^n",
        (*curve_given(plan.supply.expected, plan), Given("Q", show(zone.flow, "flow", system), f"{key}.flow")),
        SUPPLY,
        plan.supply.expected.pressure(zone.flow),
    )
    steps = _steps_given(zone, plan)
    yield Working(
        f"{key}.flow-control",
        f"{zone.id}: pressure its flow control takes",
        control,
        "pressure",
        "entry pressure - every other step - what the worst head needs; nothing when the valve stands wide open",
        (entry, *steps, _worst(zone, plan)),
        HYDRAULICS,
    )
    yield Working(
        f"{key}.needed-pressure",
        f"{zone.id}: pressure that would do at the entry",
        zone.needed_pressure,
        "pressure",
        "entry pressure - what the flow control takes",
        (entry, Given("flow control", show(control, "pressure", system), f"{key}.flow-control")),
        HYDRAULICS,
        zone.entry_pressure - sum(s.pressure for s in zone.steps if s.label.startswith("flow control")),
    )


def _pressures(zone: Zone, own: list[Head], plan: Plan) -> Iterator[Working]:
    key, system = f"zone.{zone.id}", plan.yard.units
    entry = Given("entry pressure", show(zone.entry_pressure, "pressure", system), f"{key}.entry-pressure")
    yield Working(
        f"{key}.pressure-low",
        f"{zone.id}: least pressure, at {zone.worst_head}",
        zone.pressure_low,
        "pressure",
        "entry pressure less every step on the way to the worst head",
        (entry, *_steps_given(zone, plan)),
        HYDRAULICS,
        zone.entry_pressure - sum(step.pressure for step in zone.steps),
    )
    yield Working(
        f"{key}.pressure-high",
        f"{zone.id}: greatest pressure",
        zone.pressure_high,
        "pressure",
        "greatest of its heads",
        tuple(Given(h.id, show(h.pressure, "pressure", system), f"head.{h.id}.pressure") for h in own),
        HYDRAULICS,
        max(h.pressure for h in own),
    )
    yield Working(
        f"{key}.cautious-low",
        f"{zone.id}: least pressure with a poor supply, flow control open",
        zone.cautious_low,
        "pressure",
        "the same network on the cautious curve, with the flow control wide open",
        curve_given(plan.supply.cautious, plan),
        HYDRAULICS,
    )


def _worst(zone: Zone, plan: Plan) -> Given:
    return Given(
        f"at {zone.worst_head}",
        show(zone.pressure_low, "pressure", plan.yard.units),
        f"head.{zone.worst_head}.pressure",
    )


def _steps_given(zone: Zone, plan: Plan) -> tuple[Given, ...]:
    return tuple(
        Given(step.label, show(step.pressure, "pressure", plan.yard.units), f"zone.{zone.id}.step.{number}")
        for number, step in enumerate(zone.steps, start=1)
    )


def _steps(zone: Zone, plan: Plan) -> Iterator[Working]:
    pipes = {pipe.id for pipe in plan.pipes}
    for number, step in enumerate(zone.steps, start=1):
        pipe = next((word for word in step.label.replace(",", " ").split() if word in pipes), None)
        keys = {} if pipe is None else {"bore D": f"pipe.{pipe}.bore", "length L": f"pipe.{pipe}.length"}
        given = tuple(Given(name, value, keys.get(name, "")) for name, value in step.inputs.items())
        title = f"{zone.id}: {step.label}"
        yield Working(
            f"zone.{zone.id}.step.{number}", title, step.pressure, "pressure", step.formula, given, step.source
        )
