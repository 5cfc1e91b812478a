"""Small jobs under way: a plan for the small yard, and logs of it as somebody might have kept them. All invented."""

import uuid
from datetime import UTC, datetime, timedelta
from functools import cache

from plan_yards import CATALOGUE, planned, rectangle, small_yard
from rillwright.jobs.progress import silent
from rillwright.jobs.replan.options import options_of
from rillwright.jobs.replan.replan import job_of
from rillwright.jobs.replan.search import Search
from rillwright.model.field_log import Entry

HOUR = 20 / 3600  # [currency/s]


def entry(number, what):
    return Entry.model_validate(
        {"id": uuid.UUID(int=number), "made": datetime(2026, 5, 1, tzinfo=UTC) + timedelta(hours=number), "what": what}
    )


def two_zones(**changes):
    """A lawn of 24 m by 11 m that a weak supply waters in two zones."""
    areas = [
        {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 24, 11)},
        {"id": "house", "kind": "building", "outline": rectangle(0, -4, 24, 4)},
    ]
    weak = [
        {"kind": "static gauge", "pressure": 380},
        {"kind": "gauge at a flow", "pressure": 330, "flow": 14},
        {"kind": "gauge at a flow", "pressure": 270, "flow": 24},
    ]
    return small_yard(areas=areas, supply=weak, **changes)


@cache
def small_plan():
    return planned(two_zones())


def log_of(*, closed=(), pressure=None, bought=True):
    """A log: all parts bought, some trenches closed, and a gauge that shows less than was believed."""
    found = [entry(1, {"kind": "parts bought", "whole_list": True})] if bought else []
    if closed:
        found.append(entry(2, {"kind": "trench", "trenches": list(closed), "state": "closed"}))
    if pressure is not None:
        for number, (reading, flow) in enumerate(pressure, start=3):
            what = {"kind": "gauge at a flow", "pressure": reading, "flow": flow}
            if flow == 0:
                what = {"kind": "static gauge", "pressure": reading}
            found.append(entry(number, {"kind": "supply test", "measurement": what}))
    return found


def search_of(plan, entries, *, second_supply=None, hour=HOUR):
    job = job_of(plan, entries, CATALOGUE, hour=hour, seed=0, progress=silent)
    return job, Search(*options_of(job, second_supply=second_supply))


def weaker(share):
    """The same three readings at a share of their pressure: pressure [Pa] and flow [m³/s]."""
    return [(share * 380e3, 0), (share * 330e3, 14 / 6e4), (share * 270e3, 24 / 6e4)]


def every_other(plan):
    return [trench.id for trench in plan.trenches][::2]
