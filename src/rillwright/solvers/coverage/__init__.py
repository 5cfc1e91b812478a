"""Coverage: where every head goes, and the water on the ground."""

from rillwright.solvers.coverage.balance import Outlines, WaterBalance, outlines_round, share_out, water_balance
from rillwright.solvers.coverage.depth import Depth, water_rate
from rillwright.solvers.coverage.grid import Grid, make_grid
from rillwright.solvers.coverage.held import existing_on, pins_on
from rillwright.solvers.coverage.hydrozone import hydrozones
from rillwright.solvers.coverage.kit import spacing_share
from rillwright.solvers.coverage.layout import (
    LawnLayout,
    evaluate_layout,
    evenness_of,
    judging_grid,
    lawn_of,
    lay_out_lawn,
)
from rillwright.solvers.coverage.shadow import OPEN, Scene, scene_of

__all__ = [
    "OPEN",
    "Depth",
    "Grid",
    "LawnLayout",
    "Outlines",
    "Scene",
    "WaterBalance",
    "evaluate_layout",
    "evenness_of",
    "existing_on",
    "hydrozones",
    "judging_grid",
    "lawn_of",
    "lay_out_lawn",
    "make_grid",
    "outlines_round",
    "pins_on",
    "scene_of",
    "share_out",
    "spacing_share",
    "water_balance",
    "water_rate",
]
