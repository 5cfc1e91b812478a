"""Workings of the water that runs out of low heads."""

from collections.abc import Iterator

from rillwright.model.drainage import HIGHEST_HOLD, LARGEST_PUDDLE, Drainage
from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.workings.working import Given, Working

__all__ = ["drainage_workings"]

_SOURCE = "heights of the ground along the laterals, less the cover; docs/theory/water.md"


def drainage_workings(plan: Plan) -> Iterator[Working]:
    """Workings of what each zone lets out when it stops, and of the water its check valves hold."""
    for zone in plan.drainage:
        yield from _volumes(zone, plan)
        yield from _columns(zone, plan)


def _volumes(zone: Drainage, plan: Plan) -> Iterator[Working]:
    key, system = f"drainage.{zone.zone}", plan.yard.units
    full = Given("laterals and risers, full", show(zone.holds, "volume", system))
    air = "air gets in at open heads, no siphon crosses a crest"
    yield Working(
        f"{key}.unchecked",
        f"{zone.zone}: runs out at each stop without check valves",
        zone.unchecked,
        "volume",
        f"volume of pipe and riser from which a way that never rises leads to a head; {air}",
        (full, Given("most of it at", zone.worst or "no head", f"head.{zone.worst}.pressure" if zone.worst else "")),
        _SOURCE,
    )
    given = (
        full,
        Given("without check valves", show(zone.unchecked, "volume", system), f"{key}.unchecked"),
        Given("heads with a check valve", ", ".join(one.head for one in zone.checked) or "none"),
    )
    yield Working(
        f"{key}.left",
        f"{zone.zone}: runs out at each stop as planned",
        zone.left,
        "volume",
        "the same, where a check valve keeps its head shut under the height of water that it holds",
        (*given, Given("strongest check valve holds", show(HIGHEST_HOLD, "length", system))),
        _SOURCE,
    )
    yield Working(
        f"{key}.wettest",
        f"{zone.zone}: runs out of one head at each stop as planned, at most",
        zone.at_wettest,
        "volume",
        "the share of it for which this head is the lowest that it reaches",
        (
            Given("head", zone.wettest or "none"),
            Given("all of it", show(zone.left, "volume", system), f"{key}.left"),
            Given("a head over this gets a check valve", show(LARGEST_PUDDLE, "volume", system)),
        ),
        _SOURCE,
    )


def _columns(zone: Drainage, plan: Plan) -> Iterator[Working]:
    ground = {head.id: head.ground for head in plan.heads}
    for one in zone.checked:
        yield Working(
            f"drainage.{zone.zone}.{one.head}",
            f"{one.head}: water that its check valve must hold",
            one.column,
            "length",
            "highest point of the water that stays over it - ground at the head",
            (Given("ground at the head", show(ground[one.head], "length", plan.yard.units)),),
            _SOURCE,
        )
