"""Workings of a well's pump."""

from collections.abc import Iterator

from rillwright.model.cycling import Cycling
from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.workings.working import Given, Working

__all__ = ["well_workings"]

_SOURCE = "balance of the tank's volume; docs/theory/water.md"


def well_workings(plan: Plan) -> Iterator[Working]:
    """Workings of how long the pump runs and rests, and how often it starts."""
    for one in plan.cycling:
        yield from _zone(one, plan)


def _zone(one: Cycling, plan: Plan) -> Iterator[Working]:
    key, system = f"well.{one.zone}", plan.yard.units
    flow = Given("drawn, with what is held back for the house", show(one.flow, "flow", system), f"zone.{one.zone}.flow")
    pump = Given("pump, mean of cut-in and cut-out", show(one.pump_flow, "flow", system))
    given = (flow, pump, Given("drawdown of the tank", show(one.drawdown, "volume", system)))
    words = "3600 s / (runs + rests)"
    if one.runs is not None and one.rests is not None:
        yield Working(
            f"{key}.runs",
            f"{one.zone}: pump runs",
            one.runs,
            "time",
            "drawdown / (pump - drawn)",
            given,
            _SOURCE,
            one.drawdown / (one.pump_flow - one.flow),
        )
        yield Working(
            f"{key}.rests",
            f"{one.zone}: pump rests",
            one.rests,
            "time",
            "drawdown / drawn",
            given,
            _SOURCE,
            one.drawdown / one.flow,
        )
    else:
        words = f"none: the zone draws {show(one.at_cut_out, 'flow', system)}, the pump's flow at cut-out, or more"
    yield Working(f"{key}.per-hour", f"{one.zone}: starts in an hour", one.per_hour, "number", words, given, _SOURCE)
    yield Working(
        f"{key}.per-night",
        f"{one.zone}: starts in a night",
        one.per_night,
        "count",
        "starts in an hour · hours of watering in a night, all of them this zone's",
        (
            Given("starts in an hour", f"{one.per_hour:.1f}", f"{key}.per-hour"),
            Given("hours", show(one.night, "hours", system)),
        ),
        _SOURCE,
        one.per_hour * one.night / 3600,
    )
