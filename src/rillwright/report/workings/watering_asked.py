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
        key, what = f"what-if.{number}", f"{one.what[0].upper()}{one.what[1:]}"
        given = (
            Given("nights planned a season", f"{one.nights:.0f}"),
            Given("rooted soil holds", show(one.holds, "depth", units)),
            *((Given("how", one.why),) if one.why else ()),
        )
        yield Working(
            f"{key}.water",
            f"{what}: least water of a season",
            one.water,
            "season volume",
            "least water with which kept ground stays within its limit through every season, before whole minutes",
            given,
            THEORY,
        )
        yield Working(
            f"{key}.nights",
            f"{what}: nights planned a season",
            one.nights,
            "number",
            "those of the yard as it is, or, where they do not keep the ground, fewest that cost hardly more water",
            given[1:],
            THEORY,
        )
        yield Working(
            f"{key}.holds",
            f"{what}: water that rooted soil holds",
            one.holds,
            "depth",
            "sum over the layers to the root depth of thickness · (field capacity - wilting point)",
            given[2:],
            "FAO-56 equation 82",
        )
        if one.cost is not None:
            yield Working(
                f"{key}.cost",
                f"{what}: what a season's water costs",
                one.cost,
                "money",
                "sum over the bills of tariff(house + yard) - tariff(house)",
                (Given("a season", show(one.water, "season volume", units), f"{key}.water"),),
                "docs/theory/money.md",
            )
        if one is not here:
            yield Working(
                f"{key}.saved",
                f"{what}: saved a season",
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
        (Given("may lack", show(told.limit, "depth", units), "so-far.limit"),),
        THEORY,
    )
    yield Working(
        "so-far.limit",
        f"By {told.day} it may lack",
        told.limit,
        "depth",
        "p · available; p of that day, table value + 0.04 (5 mm - use)",
        (Given("available", show(made.soil.available, "depth", units), "water.soil.available"),),
        "FAO-56 equation 83, table 22",
    )
    yield Working(
        "so-far.need",
        f"Turf used in the last {told.days} days",
        told.need,
        "depth",
        "sum of Kc · ET0",
        (Given("usual by the programme's weather", show(told.usual, "depth", units), "so-far.usual"),),
        THEORY,
    )
    yield Working(
        "so-far.usual",
        f"Usual in {told.days} days of the month",
        told.usual,
        "depth",
        "need of the month / its days · days",
        (Given(f"month {told.day.month}", "what turf needs", f"water.month.{told.day.month}.need"),),
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
    if told.by_hand is not None:
        zone, seconds = told.by_hand
        yield Working(
            "so-far.by-hand",
            f"{zone}, run once by hand",
            seconds,
            "minutes",
            "what its driest ground would pass the limit by / what the zone puts on there",
            (),
            THEORY,
        )
