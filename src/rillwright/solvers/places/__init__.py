"""Valve places: where valves and backflow devices may stand, and which heads they may then serve."""

from rillwright.solvers.places.rules import (
    PlaceOption,
    check_places,
    device_height,
    may_serve,
    outlet_level,
    place_options,
    raised_over,
)
from rillwright.solvers.places.trench_walk import TrenchWalk

__all__ = [
    "PlaceOption",
    "TrenchWalk",
    "check_places",
    "device_height",
    "may_serve",
    "outlet_level",
    "place_options",
    "raised_over",
]
