"""Workings of the main: branched or a ring, and the ring with a stretch shut."""

from collections.abc import Iterator

from rillwright.model.main_ring import MainTrial
from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.workings.working import HYDRAULICS, Given, Working

__all__ = ["main_workings"]

_OPEN = "cautious supply, flow controls wide open"


def main_workings(plan: Plan) -> Iterator[Working]:
    """Workings of what each layout of the main costs and leaves, and of each stretch shut."""
    if plan.main is None:
        return
    system = plan.yard.units
    for trial in plan.main.trials:
        yield from _trial(trial, plan.yard.currency)
    least = {trial.layout: trial.least for trial in plan.main.trials}
    before, after = least.get("branched"), least.get("looped")
    if before is not None and after is not None:
        yield Working(
            "main.gain",
            "Pressure that the ring gains at the worst head",
            after - before,
            "pressure",
            "looped - branched; where it is little, the ring has been spent on smaller pipe",
            (
                Given("looped", show(after, "pressure", system), "main.looped.least"),
                Given("branched", show(before, "pressure", system), "main.branched.least"),
            ),
            HYDRAULICS,
            after - before,
        )
    for shut in plan.main.shut:
        key = f"main.shut.{shut.pipe}"
        given = (Given("zone", shut.zone, f"zone.{shut.zone}.cautious-low"), Given("head", shut.head))
        title = f"{shut.pipe} shut: least pressure at any head"
        yield Working(f"{key}.least", title, shut.least, "pressure", _OPEN, given, HYDRAULICS)
        title = f"{shut.pipe} shut: that head's pressure with the ring open"
        yield Working(f"{key}.before", title, shut.before, "pressure", _OPEN, given, HYDRAULICS)
        yield Working(
            f"{key}.fall",
            f"{shut.pipe} shut: fall at that head",
            shut.fall,
            "pressure",
            "with the ring open - with the stretch shut",
            (
                Given("open", show(shut.before, "pressure", system), f"{key}.before"),
                Given("shut", show(shut.least, "pressure", system), f"{key}.least"),
            ),
            HYDRAULICS,
            shut.before - shut.least,
        )


def _trial(trial: MainTrial, currency: str) -> Iterator[Working]:
    key = f"main.{trial.layout}"
    if trial.cost is not None:
        formula = "parts, trenches and moving of the whole plan with this main"
        title = f"{trial.layout} main: whole plan ({currency})"
        yield Working(f"{key}.cost", title, trial.cost, "money", formula, (), "parts and trenches, counted and priced")
    if trial.least is not None:
        given = (Given("head", trial.head or ""),)
        title = f"{trial.layout} main: least pressure at any head"
        yield Working(f"{key}.least", title, trial.least, "pressure", _OPEN, given, HYDRAULICS)
