"""Workings of the yearly record."""

from collections.abc import Iterator

from rillwright.model.plan import Plan
from rillwright.model.yearly import Series, YearlyRecord
from rillwright.physics.units import show
from rillwright.report.workings.working import Given, Working

__all__ = ["record_workings"]

_SOURCE = "docs/theory/record.md"
_READ = {
    "wear": "flow read / sum over heads of planned flow · (pressure read / planned)^exponent of the nozzle",
    "static pressure": "gauge reading, brought to the water entry's height",
    "head pressure": "gauge reading",
    "evenness": "DU of the low quarter of the cups alone",
    "water used": "sum of what the meter counted in the season",
}


def record_workings(record: YearlyRecord, plan: Plan) -> Iterator[Working]:
    """Workings of every season's reading, of its drift and of when it reaches its limit."""
    for one in record.series:
        key = f"record.{one.watched.replace(' ', '-')}.{one.of}"
        for reading in one.readings:
            yield Working(
                f"{key}.{reading.season}",
                f"{one.watched} of {one.of}, {reading.season}",
                reading.value,
                one.dimension,
                _READ[one.watched],
                (
                    Given("read on", str(reading.made)),
                    Given("standard error", show(reading.error, one.dimension, plan.yard.units)),
                ),
                _SOURCE,
            )
        yield from _change(key, one, plan)
        yield from _slope(key, one, plan)
    for season in record.seasons:
        if season.repairs:
            yield Working(
                f"record.repairs.{season.season}",
                f"Repairs of {season.season}: what they cost",
                season.repair_cost,
                "money",
                "sum of the season's repairs in the log",
                (Given("repairs", str(season.repairs)),),
                _SOURCE,
            )


def _change(key: str, one: Series, plan: Plan) -> Iterator[Working]:
    if one.change is None:
        return
    system, (before, now) = plan.yard.units, one.readings[-2:]
    yield Working(
        f"{key}.change",
        f"{one.watched} of {one.of}: {now.season} against {before.season}",
        one.change.by,
        one.dimension,
        "reading - the one before; told as more or less past 1.645 standard errors of the two",
        (
            *(Given(str(r.season), show(r.value, one.dimension, system), f"{key}.{r.season}") for r in (before, now)),
            Given("standard error", show(one.change.error, one.dimension, system)),
        ),
        _SOURCE,
        now.value - before.value,
    )


def _slope(key: str, one: Series, plan: Plan) -> Iterator[Working]:
    if one.slope is None or one.low is None or one.high is None:
        return
    system = plan.yard.units
    given = tuple(
        Given(str(reading.season), show(reading.value, one.dimension, system), f"{key}.{reading.season}")
        for reading in one.readings
    )
    yield Working(
        f"{key}.slope",
        f"{one.watched} of {one.of}: drift a year",
        one.slope,
        one.dimension,
        "median of the slopes between every two seasons",
        (
            *given,
            Given("band", f"{show(one.low, one.dimension, system)} to {show(one.high, one.dimension, system)}"),
            Given("holds it with a chance of", f"{one.held:.0%}"),
        ),
        f"Theil and Sen's slope, band by Kendall's exact distribution; {_SOURCE}",
        _median(one),
    )
    if one.limit is not None:
        yield Working(
            f"{key}.limit",
            f"{one.watched} of {one.of}: limit",
            one.limit,
            one.dimension,
            "110 % of the charts' flow; 0.9 of the pressure planned; DU of the plan less 0.10",
            (),
            f"common practice and judgement; {_SOURCE}",
        )


def _median(one: Series) -> float:
    points = one.readings
    slopes = sorted((b.value - a.value) / (b.season - a.season) for n, a in enumerate(points) for b in points[n + 1 :])
    middle = len(slopes) // 2
    return slopes[middle] if len(slopes) % 2 else (slopes[middle - 1] + slopes[middle]) / 2
