"""Write what may be done: a page with all changes side by side, and a folder with the whole plan of each."""

import json
from pathlib import Path

from rillwright.errors import InputError
from rillwright.exchange.yard_file import write_yard
from rillwright.jobs.replan.replan import Outcome
from rillwright.jobs.replan.standing import standing_of
from rillwright.jobs.write import check_folder, write_plan
from rillwright.model.parts import Catalogue
from rillwright.report.change_page import render_changes

__all__ = ["AS_DRAWN", "PAGE", "check_changes", "write_changes"]

PAGE, SUMMARY, AS_DRAWN, YARD = "changes.html", "changes.json", "as-drawn", "yard.json"


def check_changes(folder: Path, *, force: bool) -> None:
    """Refuse a folder that already holds changes, or a plan, unless told to overwrite it."""
    check_folder(folder, force=force)
    held = [name for name in (PAGE, SUMMARY) if (folder / name).exists()]
    if held and not force:
        raise InputError(f"{folder} already holds {', '.join(held)}: give another --out, or --force to replace them.")


def write_changes(outcome: Outcome, catalogue: Catalogue, folder: Path, *, force: bool) -> tuple[Path, ...]:
    """Write the page, its figures as JSON, the plan of each change in a folder of its number, and that as drawn.

    Errors: InputError when the folder cannot be written.
    """
    check_changes(folder, force=force)
    page = render_changes(
        outcome.before,
        standing_of(outcome.before, outcome.state, supply=outcome.supply),
        outcome.as_drawn,
        outcome.changes,
        how_sure=outcome.how_sure,
        tried=outcome.tried,
        cut_short=outcome.cut_short,
    )
    figures = [plan.change.model_dump(mode="json") for plan in outcome.changes if plan.change is not None]
    written = [folder / PAGE, folder / SUMMARY]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for number, plan in enumerate(outcome.changes, start=1):
            written += write_plan(plan, catalogue, folder / str(number), force=force)
            written.append(folder / str(number) / YARD)
            write_yard(plan.yard, written[-1], overwrite=force)
        written += write_plan(outcome.as_drawn, catalogue, folder / AS_DRAWN, force=force)
        written[1].write_text(json.dumps(figures, indent=1, ensure_ascii=False), encoding="utf-8")
        written[0].write_text(page, encoding="utf-8")
    except OSError as error:
        raise InputError(f"{folder} cannot be written: {error.strerror}.") from None
    return tuple(written)
