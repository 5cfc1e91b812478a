"""Check of a finished plan that looks at a well's pump."""

from collections.abc import Iterator

from rillwright.jobs.checks.inspection import SLACK, Inspection
from rillwright.model.cycling import LEAST_RUN, MOST_STARTS, Cycling
from rillwright.model.findings import Finding

__all__ = ["well_rests"]


def well_rests(case: Inspection) -> Iterator[Finding]:
    """A well's pump starts seldom enough and runs long enough at each start."""
    hard = [one for one in case.plan.cycling if _hard(one)]
    if not hard:
        return
    worst = max(hard, key=lambda one: one.per_hour)
    others = ", ".join(one.zone for one in hard if one is not worst)
    runs, rests = worst.runs or 0.0, worst.rests or 0.0
    do = (
        f"Make its zones draw {case.show(worst.at_cut_out, 'flow')} or more, then the pump runs through: fewer, larger "
    )
    do += "zones"
    if runs < LEAST_RUN:
        do += f"; or fit a tank that gives {case.show(worst.drawdown_wanted, 'volume')} from cut-out to cut-in"
    yield Finding(
        rule="pump-cycling",
        severity="should",
        where=worst.zone,
        what=f"it draws {case.show(worst.flow, 'flow')} where the pump gives {case.show(worst.pump_flow, 'flow')}: the "
        f"pump runs {runs:.0f} s and rests {rests:.0f} s, {worst.per_hour:.0f} starts an hour and up to "
        f"{worst.per_night:.0f} in a night; small motors should run {LEAST_RUN:.0f} s at each start and make no more "
        f"than {MOST_STARTS} in a day" + (f". Much the same for {others}" if others else ""),
        do=do + ".",
        source="limits of small well motors, from memory",
    )


def _hard(one: Cycling) -> bool:
    return one.runs is not None and (one.runs < LEAST_RUN / SLACK or one.per_night > MOST_STARTS * SLACK)
