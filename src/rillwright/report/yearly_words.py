"""The yearly record in words: rows of its two tables, in the yard's units."""

from rillwright.model.plan import Plan
from rillwright.model.yearly import KNOWN, Series, YearlyRecord
from rillwright.physics.units import show

__all__ = ["season_rows", "series_rows"]

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]


def season_rows(record: YearlyRecord, plan: Plan) -> Rows:
    """One row for each season."""
    columns = ("season", "started up", "drained", "water used", "repairs", "cost", "entries")
    return columns, [
        (
            str(one.season),
            str(one.started or "-"),
            str(one.drained or "-"),
            "-" if one.water is None else show(one.water, "season volume", plan.yard.units),
            str(one.repairs),
            f"{one.repair_cost:.2f}",
            str(one.entries),
        )
        for one in record.seasons
    ]


def series_rows(record: YearlyRecord, plan: Plan) -> Rows:
    """One row for each thing that was read."""
    columns = ("what", "of", "seasons", "since last time", "drift a year", "verdict")
    return columns, [
        (
            _NAMES.get(one.watched, one.watched),
            one.of,
            _readings(one, plan),
            _since(one, plan),
            _drift(one, plan),
            one.verdict,
        )
        for one in record.series
    ]


_NAMES = {"wear": "flow over the charts'"}


def _readings(one: Series, plan: Plan) -> str:
    shown = one.readings[-4:]
    words = ", ".join(f"{r.season}: {show(r.value, one.dimension, plan.yard.units)}" for r in shown)
    return ("..., " if len(one.readings) > len(shown) else "") + words


def _since(one: Series, plan: Plan) -> str:
    if one.change is None:
        return "-"
    return f"{show(one.change.by, one.dimension, plan.yard.units)}, {one.change.told}"


def _drift(one: Series, plan: Plan) -> str:
    if one.slope is None or one.low is None or one.high is None:
        return "-"
    system = plan.yard.units
    if one.held < KNOWN:
        return f"{show(one.slope, one.dimension, system)}, no band yet"
    band = f"{show(one.low, one.dimension, system)} to {show(one.high, one.dimension, system)}"
    return f"{show(one.slope, one.dimension, system)} ({band}, {one.held:.0%})"
