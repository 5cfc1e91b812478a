"""Coverage: where every head goes, and the water on the ground."""

from rillwright.solvers.coverage.depth import WaterBalance, water_balance, water_rate
from rillwright.solvers.coverage.grid import Grid, make_grid
from rillwright.solvers.coverage.kit import spacing_share
from rillwright.solvers.coverage.layout import LawnLayout, evaluate_layout, evenness_of, lay_out_lawn

__all__ = [
    "Grid",
    "LawnLayout",
    "WaterBalance",
    "evaluate_layout",
    "evenness_of",
    "lay_out_lawn",
    "make_grid",
    "spacing_share",
    "water_balance",
    "water_rate",
]
