"""What now, as one page: the job as it stands, and the changes side by side."""

from collections.abc import Sequence
from dataclasses import dataclass

from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.column import CAUTIONS
from rillwright.report.page import VAPOUR
from rillwright.report.templating import render
from rillwright.report.workings import all_workings

__all__ = ["Standing", "render_changes"]


@dataclass(frozen=True, slots=True)
class Standing:
    """How far the job has come."""

    bought: float  # [currency] paid for parts
    closed: float  # [m] of trench closed over its pipes
    opened: float  # [m] dug and open
    trench: float  # [m] of trench in the plan
    supply: str  # what the supply is fitted to, in words


def render_changes(
    before: Plan,
    standing: Standing,
    as_drawn: Plan,
    changes: Sequence[Plan],
    *,
    how_sure: str,
    tried: int,
    cut_short: bool,
) -> str:
    """Write the page.

    Parameters: before, the plan being built; as_drawn, the same finished on the supply as it is now; changes, each in a
    folder of its number beside the page; how_sure they hold, in words; tried, options of the search; cut_short, that
    somebody stopped it.
    """
    system = before.yard.units
    workings = [{key: w for key, w in all_workings(plan).items() if key.startswith("change.")} for plan in changes]
    return render(
        "changes.html",
        before=before,
        standing=standing,
        flow=max(zone.flow for zone in before.zones),
        as_drawn=as_drawn,
        changes=changes,
        workings=workings,
        nozzles={nozzle.id: nozzle for nozzle in as_drawn.nozzles},
        heads={head.id: head for head in as_drawn.heads},
        how_sure=how_sure,
        tried=tried,
        cut_short=cut_short,
        cautions=(*CAUTIONS, VAPOUR),
        show=lambda value, dimension: show(value, dimension, system),
        money=lambda value: f"{value:.2f}",
    )
