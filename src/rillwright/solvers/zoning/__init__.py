"""Zones: which heads run together, in the fewest zones, each at the valve place that costs least."""

from rillwright.solvers.zoning.result import Clash, HeadLoad, ZoneGroup, ZoneProblem, Zoning
from rillwright.solvers.zoning.zones import cost_of, make_zones, make_zonings, with_bound, zoning_of

__all__ = [
    "Clash",
    "HeadLoad",
    "ZoneGroup",
    "ZoneProblem",
    "Zoning",
    "cost_of",
    "make_zones",
    "make_zonings",
    "with_bound",
    "zoning_of",
]
