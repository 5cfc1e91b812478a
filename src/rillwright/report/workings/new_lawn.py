"""Workings of a new lawn's stages."""

import math
from collections.abc import Iterator

from rillwright.model.new_lawn import LawnStage, NewLawn
from rillwright.model.watering import ZoneWater
from rillwright.physics.units import System, show
from rillwright.report.workings.working import Given, Working

__all__ = ["new_lawn_workings"]

THEORY = "docs/theory/watering.md"


def new_lawn_workings(made: NewLawn, units: System) -> Iterator[Working]:
    """Workings of the windows to sow in and of every stage."""
    for number, window in enumerate(made.windows, start=1):
        yield Working(
            f"new-lawn.window.{number}",
            f"Seed sown from {window.first} to {window.last} does well",
            window.chance,
            "share",
            "share of the years in which its poorest day had soil (seven days' mean of the air) neither too cold nor "
            "too warm, and no night of -2 °C in the weeks after; 0.8 or more make a window",
            (),
            THEORY,
        )
    for number, stage in enumerate(made.stages, start=1):
        key = f"new-lawn.{number}"
        yield Working(
            f"{key}.depth",
            f"{stage.name}: depth of a run",
            stage.depth,
            "depth",
            "used on a mean day / runs a day, no more than the layer that is kept moist holds",
            (
                Given("used a day, 1.05 ET0 of the month", show(stage.use, "depth", units)),
                Given("runs a day, so that no more is used between two than may be", str(stage.runs)),
                Given("may be used between two", show(stage.wanted, "depth", units)),
                Given("the layer holds", show(stage.holds, "depth", units)),
            ),
            f"{THEORY}; {stage.source}",
            min(stage.use / stage.runs, stage.holds),
        )
        for zone in made.zones:
            yield _minutes(key, stage, zone, units)


def _minutes(key: str, stage: LawnStage, zone: ZoneWater, units: System) -> Working:
    wanted = stage.depth * zone.need * zone.multiplier / max(zone.net_rate, 1e-9)
    most = math.inf if zone.longest_run is None else zone.longest_run
    minutes = math.ceil(wanted / 60 - 1e-6) if wanted <= most else math.floor(most / 60)
    return Working(
        f"{key}.{zone.id}",
        f"{stage.name}: {zone.id}, a run",
        stage.seconds[zone.id],
        "minutes",
        "depth · exposure · multiplier / net rate in whole minutes, no longer than until water stands",
        (
            Given("depth", show(stage.depth, "depth", units), f"{key}.depth"),
            Given("exposure", f"{zone.need:.2f}"),
            Given("multiplier by DU", f"{zone.multiplier:.2f}"),
            Given("net rate", show(zone.net_rate, "rate", units)),
            Given("until water stands", "no limit" if math.isinf(most) else show(most, "minutes", units)),
        ),
        THEORY,
        60.0 * max(minutes, 1),
    )
