"""Every number that can be asked for: of a plan and its money, of a guide made of it, and of what its log says."""

from collections.abc import Sequence
from pathlib import Path

from rillwright.errors import InputError
from rillwright.jobs.answers import answer_log
from rillwright.jobs.money import make_ledger
from rillwright.jobs.replan.standing import standing_workings
from rillwright.jobs.replan.state import state_of
from rillwright.model.field_log import Entry
from rillwright.model.guide import Guide
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.report.workings import Working, all_workings
from rillwright.report.workings.guide import guide_workings
from rillwright.report.workings.money import ledger_workings

__all__ = ["explained", "log_numbers", "read_guide"]


def explained(plan: Plan, *, guide: Guide | None = None) -> dict[str, Working]:
    """Workings of a plan, of its money with nothing bought yet, and of a guide made of it, by key, in reading order."""
    found = all_workings(plan)
    if plan.cost is not None:
        found |= {working.key: working for working in ledger_workings(make_ledger(plan), plan)}
    return found if guide is None else found | {w.key: w for w in guide_workings(guide, plan)}


def log_numbers(plan: Plan, entries: Sequence[Entry], catalogue: Catalogue, *, seed: int = 0) -> dict[str, Working]:
    """Workings of what a log says: the conclusions of its tests, and how far the job has come.

    Parameters: entries, what counts of the log. Errors: InputError as for answer_log and state_of.
    """
    concluded = [w for answer in answer_log(plan, entries, catalogue, seed=seed) for w in answer.workings]
    return {w.key: w for w in (*concluded, *standing_workings(plan, state_of(plan, entries)))}


def read_guide(path: Path, plan: Plan) -> Guide:
    """Read guide.json, or the folder that holds it. Errors: InputError when it is no guide, or one of another plan."""
    file = path / "guide.json" if path.is_dir() else path
    try:
        guide = Guide.model_validate_json(file.read_bytes())
    except OSError as error:
        raise InputError(f"{file} cannot be read: {error.strerror}.") from None
    except ValueError:
        raise InputError(f"{file} is not a guide of this version: make it again with `rillwright guide`.") from None
    zones = {step.id.split(":", 1)[1] for step in guide.steps if step.kind == "tune"}
    if zones != {zone.id for zone in plan.zones}:
        raise InputError(f"{file} is the guide of another plan: its zones are {', '.join(sorted(zones)) or 'none'}.")
    return guide
