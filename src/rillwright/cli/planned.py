"""Plan a yard for a command, and write every file of the plan into its folder."""

from pathlib import Path

from rillwright.cli.progress import shown_progress
from rillwright.jobs.plan import make_plan
from rillwright.jobs.stop import Stop
from rillwright.jobs.workers import process_pool
from rillwright.jobs.write import check_folder, write_plan
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan, Start
from rillwright.model.site import Yard

__all__ = ["plan_into"]


def plan_into(
    yard: Yard,
    catalogue: Catalogue,
    out: Path,
    *,
    force: bool,
    seed: int,
    stop: Stop | None = None,
    start: Start | None = None,
) -> tuple[Plan, tuple[Path, ...]]:
    """Plan a yard on all cores; returns the plan and the files written.

    Parameters: stop and start, as for make_plan. Errors: InputError as for `check_folder`, before the yard is planned.
    """
    check_folder(out, force=force)
    with process_pool() as pool, shown_progress(stop) as progress:  # in this order: the bar starts a thread
        plan = make_plan(yard, catalogue, seed=seed, progress=progress, pool=pool, stop=stop, start=start)
        files = write_plan(plan, catalogue, out, force=force, progress=progress)
    return plan, files
