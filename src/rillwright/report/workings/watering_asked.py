"""Workings of what a change would save, and of what the next night needs."""

from collections.abc import Iterator, Sequence

from rillwright.model.watering import WaterPlan
from rillwright.model.watering_asked import SoFar, WhatIf
from rillwright.physics.units import System, show
from rillwright.report.workings.working import Given, Working

__all__ = ["so_far_workings", "what_if_workings"]

THEORY = "docs/theory/watering.md"


def what_if_workings(found: Sequence[WhatIf], units: System) -> Iterator[Working]:
    """Workings of the changes; the first of `found` is the yard as it is."""
    here = found[0]
    for number, one in enumerate(found):
        key = f"what-if.{number}"
        given = (
            Given("nights planned a season", f"{one.nights:.0f}"),
            Given("rooted soil holds", show(one.holds, "depth", units)),
            *((Given("how", one.why),) if one.why else ()),
        )
        yield Working(
            f"{key}.water",
            f"{one.what[0].upper()}{one.what[1:]}: least water of a season",
            one.water,
            "season volume",
            "least water with which kept ground stays within its limit through every season, before whole minutes",
            given,
            THEORY,
        )
        if one is not here:
            yield Working(
                f"{key}.saved",
                f"{one.what[0].upper()}{one.what[1:]}: saved a season",
                one.saved,
                "season volume",
                "least water as it is - least water so",
                (
                    Given("as it is", show(here.water, "season volume", units), "what-if.0.water"),
                    Given("so", show(one.water, "season volume", units), f"{key}.water"),
                ),
                THEORY,
                here.water - one.water,
            )


def so_far_workings(told: SoFar, made: WaterPlan) -> Iterator[Working]:
    """Workings of where the season stands."""
    units = made.units
    yield Working(
        "so-far.lacking",
        f"By {told.day} the driest kept ground lacks",
        told.lacking,
        "depth",
        "balance in layers day by day: need - rain that stays - planned nights that the rain switch did not skip",
        (Given("may lack", show(told.limit, "depth", units)),),
        THEORY,
    )
    yield Working(
        "so-far.need",
        f"Turf used in the last {told.days} days",
        told.need,
        "depth",
        "sum of Kc · ET0",
        (Given("usual by the programme's weather", show(told.usual, "depth", units)),),
        THEORY,
    )
    if told.night is not None:
        yield Working(
            "so-far.share",
            f"Of the month's minutes, the night that ends on {told.night} needs",
            told.percent / 100,
            "share",
            "(lacking + usual need until the night after - limit) / what the month's minutes put on, where it is most",
            (
                Given("would pass the limit by", show(told.short, "depth", units)),
                Given("the month's minutes put on there", show(told.given, "depth", units)),
            ),
            THEORY,
            told.short / told.given if told.given > 0 else 0.0,
        )
