"""Hours of work on a job that is changed: the tasks of building, and those of undoing what was built."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from rillwright.data.tables import read_table
from rillwright.model.guide import Estimate
from rillwright.model.labour import MINUTE, load_labour

__all__ = ["Hours", "Task", "hours_of", "load_tasks"]

_BUILDING = {  # task here: step and per of the table of work
    "pipe laid": ("lay", "metre"),
    "joint made or cut": ("lay", "fitting"),
    "valve set": ("valves", "valve"),
    "valve box set": ("valves", "box"),
    "wire pulled": ("wire", "metre"),
    "station added": ("controller", "station"),
}


@dataclass(frozen=True, slots=True)
class Task:
    """One task, for one piece or one metre [s]."""

    each: Estimate
    source: str


@dataclass(frozen=True, slots=True)
class Hours:
    """Working time of several tasks together [s]."""

    mean: float
    spread: float  # standard deviation


def hours_of(amounts: Mapping[str, float], tasks: Mapping[str, Task]) -> Hours:
    """Add tasks up: metres or pieces of one task go alike quickly or slowly, tasks are independent.

    >>> dig, lay = Estimate(low=600, likely=600, high=600), Estimate(low=60, likely=120, high=180)
    >>> hours_of({"dig": 2.0, "lay": 3.0}, {"dig": Task(dig, ""), "lay": Task(lay, "")})
    Hours(mean=1560.0, spread=60.0)
    """
    mean = sum(amount * tasks[task].each.mean for task, amount in amounts.items())
    return Hours(mean, math.hypot(*(amount * tasks[task].each.deviation for task, amount in amounts.items())))


def load_tasks(soil: str) -> dict[str, Task]:
    """Every task; soil, 'sand', 'loam' or 'clay', for what is dug by hand and closed again."""
    rates = load_labour().rates
    fill = rates["fill", "metre", ""].each
    found = {}
    for task, (step, per) in _BUILDING.items():
        rate = rates[step, per, ""]
        found[task] = Task(rate.each, rate.source)
    for surface in ("lawn", "bed", "ground", "roots"):
        rate = rates["dig by hand", "metre", "roots" if surface == "roots" else soil]
        dug = rate.each
        each = Estimate(low=dug.low + fill.low, likely=dug.likely + fill.likely, high=dug.high + fill.high)
        found[f"trench in {surface}"] = Task(each, f"{rate.source}; by hand, filled again")
    for row in read_table("undoing"):
        low = row.number("low_min", low=0)
        likely = row.number("likely_min", low=low)
        each = Estimate(low=low, likely=likely, high=row.number("high_min", low=likely)).times(MINUTE)
        found[row.text("task")] = Task(each, row.text("source"))
    return found
