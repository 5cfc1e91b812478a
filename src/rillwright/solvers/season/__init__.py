"""A season's watering: which ground binds, the least water that keeps it, and any programme tried out."""

from rillwright.solvers.season.foresight import Foreseen, foreseen
from rillwright.solvers.season.least import Least, least_water
from rillwright.solvers.season.points import Points, binding_points
from rillwright.solvers.season.trial import Season, Trial, tried

__all__ = [
    "Foreseen",
    "Least",
    "Points",
    "Season",
    "Trial",
    "binding_points",
    "foreseen",
    "least_water",
    "tried",
]
