"""Zones: which heads run together, in the fewest zones, each at the valve place that costs least."""

from rillwright.solvers.zoning.task import HeadLoad
from rillwright.solvers.zoning.zones import Clash, ZoneGroup, Zoning, make_zones

__all__ = ["Clash", "HeadLoad", "ZoneGroup", "Zoning", "make_zones"]
