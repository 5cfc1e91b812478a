"""Bounds under the cost of any plan with the fewest zones: by trenches, by whole zones, and by a forest on large yards.

Downward: `cost` asks `open_sets` and `whole_zones`, which ask `programme`, `cuts` and `trees`, by loads of `parts`.
"""

from rillwright.solvers.zoning.bounds.cost import cost_bound
from rillwright.solvers.zoning.bounds.forest import forest_bound

__all__ = ["cost_bound", "forest_bound"]
