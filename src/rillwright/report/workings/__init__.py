"""The working of every number in a plan: formula, inputs, source.

Each module yields the workings of one subject. An input that is itself a number of the plan carries that number's key,
so that a reader can follow a chain: safe flow, limit, pressure needed, the zone's steps, pipe, bore.
"""

import difflib
from collections.abc import Mapping

from rillwright.errors import NotExplainedError
from rillwright.model.plan import Plan
from rillwright.report.workings.certainty import certainty_workings
from rillwright.report.workings.change import change_workings
from rillwright.report.workings.costs import cost_workings
from rillwright.report.workings.drainage import drainage_workings
from rillwright.report.workings.flushing import flushing_workings
from rillwright.report.workings.front import front_workings
from rillwright.report.workings.heads import head_workings
from rillwright.report.workings.house import house_workings
from rillwright.report.workings.lawns import lawn_workings
from rillwright.report.workings.main_ring import main_workings
from rillwright.report.workings.outcome import outcome_workings
from rillwright.report.workings.pipes import pipe_workings
from rillwright.report.workings.places import place_workings
from rillwright.report.workings.protection import protection_workings
from rillwright.report.workings.regulation import regulation_workings
from rillwright.report.workings.search import search_workings
from rillwright.report.workings.supply import supply_workings
from rillwright.report.workings.well import well_workings
from rillwright.report.workings.wire import wire_workings
from rillwright.report.workings.working import Given, Working
from rillwright.report.workings.zones import zone_workings

__all__ = ["Given", "Working", "all_workings", "find_working", "working_of"]

_BUILDERS = (
    outcome_workings,
    supply_workings,
    well_workings,
    house_workings,
    zone_workings,
    place_workings,
    lawn_workings,
    front_workings,
    head_workings,
    pipe_workings,
    main_workings,
    regulation_workings,
    protection_workings,
    drainage_workings,
    flushing_workings,
    wire_workings,
    cost_workings,
    certainty_workings,
    search_workings,
    change_workings,
)
_MOST_NEAR = 8


def all_workings(plan: Plan) -> dict[str, Working]:
    """Every working of a plan by its key, in reading order."""
    return {w.key: w for builder in _BUILDERS for w in builder(plan)}


def working_of(plan: Plan, key: str) -> Working:
    """The working of one number, capitals aside; NotExplainedError names keys near a wrong one."""
    return find_working(all_workings(plan), key)


def find_working(found: Mapping[str, Working], key: str) -> Working:
    """The working of a key, capitals aside; NotExplainedError names keys near a wrong one."""
    wanted = key.strip()
    if wanted in found:
        return found[wanted]
    lowered = {name.lower(): name for name in reversed(list(found))}
    if wanted.lower() in lowered:
        return found[lowered[wanted.lower()]]
    begins = [name for name in found if name.lower().startswith(wanted.lower())]
    near = begins or [lowered[n] for n in difflib.get_close_matches(wanted.lower(), lowered, n=_MOST_NEAR, cutoff=0.5)]
    raise NotExplainedError(wanted, tuple(near[:_MOST_NEAR]))
