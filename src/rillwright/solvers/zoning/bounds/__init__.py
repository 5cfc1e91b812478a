"""Bounds under the cost of any plan with the fewest zones: by trenches, by whole zones, and by a forest on large yards.

Downward: `cost` asks `one_place` and `whole_zones`, which ask `programme`, `cuts` and `trees`.
"""

from rillwright.solvers.zoning.bounds.cost import cost_bound
from rillwright.solvers.zoning.bounds.forest import forest_bound

__all__ = ["cost_bound", "forest_bound"]
